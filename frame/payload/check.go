package payload

import (
	"errors"
	"fmt"

	"looptone/frame"
)

// ErrDefinition tells that a definition contradicts itself.
var ErrDefinition = errors.New("not a valid definition")

// Check reports the first thing in d that cannot be: sizes that its types do
// not have, names that lead nowhere, bits that overlap, revisions that do.
func (d *Definition) Check() error {
	for _, direction := range [...]struct {
		name    string
		layouts []Layout
		room    int
	}{{"request", d.Request, frame.MaxCount}, {"reply", d.Reply, frame.MaxReplyData}} {
		var before uint8
		for i := range direction.layouts {
			l := &direction.layouts[i]
			err := l.check(direction.room)
			if err == nil && (i > 0 && l.For.From <= before || l.For.newest() < l.For.From) {
				err = fmt.Errorf("does not come behind the revisions before it")
			}
			if err != nil {
				return fmt.Errorf("%w: command %d, %s of %v: %w", ErrDefinition, d.Command, direction.name, l.For, err)
			}
			before = l.For.newest()
		}
	}
	for code := range d.Codes {
		if code > 127 {
			return fmt.Errorf("%w: command %d: response code %d, want 0 to 127", ErrDefinition, d.Command, code)
		}
	}
	return nil
}

func (l *Layout) check(room int) error {
	switch most := length(l.Head) + l.Max*length(l.Group) + length(l.Tail); {
	case most > room:
		return fmt.Errorf("holds up to %d bytes, want at most %d", most, room)
	case l.Need < 0 || l.Need > len(l.Head):
		return fmt.Errorf("needs %d of %d fields", l.Need, len(l.Head))
	case l.Need < len(l.Head) && len(l.Group)+len(l.Tail) > 0:
		return errors.New("may end within its head and goes on behind it")
	case len(l.Group) == 0 && (l.Min != 0 || l.Max != 0):
		return errors.New("repeats a group without fields")
	case len(l.Group) > 0 && (l.Min < 0 || l.Max < 1 || l.Min > l.Max):
		return fmt.Errorf("repeats its group %d to %d times", l.Min, l.Max)
	}
	seen := map[string]bool{}
	for _, fields := range [...][]Field{l.Head, l.Group, l.Tail} {
		if err := l.checkFields(fields, seen); err != nil {
			return err
		}
	}
	return nil
}

func (l *Layout) checkFields(fields []Field, seen map[string]bool) error {
	open := Field{} // the field before, where it shares its bytes with the next
	for i := range fields {
		f := &fields[i]
		err := f.check()
		if err == nil {
			err = f.checkBits(open)
		}
		if err == nil {
			err = l.checkReferences(f, fields)
		}
		if err == nil && (f.Name == "" || seen[f.Name]) {
			err = errors.New("wants a name of its own")
		}
		if err != nil {
			return fmt.Errorf("field %q: %w", f.Name, err)
		}
		seen[f.Name], open = true, Field{}
		if f.Bits.Low > 0 {
			open = *f
		}
	}
	if open.Size > 0 {
		return fmt.Errorf("field %q: the bits below bit %d are missing", open.Name, open.Bits.Low)
	}
	return nil
}

func (f *Field) check() error {
	smallest, largest, multiple := f.Type.sizes()
	switch {
	case f.Type < Unsigned || f.Type > Bytes:
		return fmt.Errorf("%v is none", f.Type)
	case f.Size < smallest || f.Size > largest || f.Size%multiple != 0:
		return fmt.Errorf("%v of %d bytes, want %d to %d, a multiple of %d", f.Type, f.Size, smallest, largest, multiple)
	case f.Table != "" && f.Type != Enumeration && f.Type != Flags:
		return fmt.Errorf("%v has no code table", f.Type)
	case f.Table != "" && tableByName[f.Table] == nil:
		return fmt.Errorf("no code table %q", f.Table)
	case f.Unit != 0 && f.UnitField != "":
		return errors.New("has a fixed unit and a field that holds one")
	case (f.Unit != 0 || f.UnitField != "") && f.Type != Float && f.Type != Unsigned && f.Type != Time:
		return fmt.Errorf("%v has no unit", f.Type)
	case f.Class != "" && f.Type != UnitCode:
		return fmt.Errorf("%v does not depend on a class", f.Type)
	case f.Revision && (f.Type != Unsigned || f.Size != 1 || f.Bits != Bits{}):
		return errors.New("a revision is one unsigned byte")
	}
	return nil
}

// checkBits checks how f joins the field before, which is open where it left
// bits of its bytes to the next.
func (f *Field) checkBits(open Field) error {
	top := 8 * f.Size
	if open.Size > 0 {
		if open.Size != f.Size {
			return fmt.Errorf("shares %d bytes with a field of %d", f.Size, open.Size)
		}
		top = int(open.Bits.Low)
	}
	switch {
	case f.Bits == Bits{} && open.Size == 0:
		return nil
	case f.Bits.Width > 0 && !f.Type.whole():
		return fmt.Errorf("%v takes whole bytes", f.Type)
	case f.Bits.Width == 0 || int(f.Bits.Low)+int(f.Bits.Width) != top:
		return fmt.Errorf("holds %d bits from bit %d up, want it to end below bit %d", f.Bits.Width, f.Bits.Low, top)
	}
	return nil
}

func (l *Layout) checkReferences(f *Field, fields []Field) error {
	for _, ref := range [...]struct {
		name string
		unit bool
	}{{f.UnitField, true}, {f.Class, false}} {
		if ref.name == "" {
			continue
		}
		g, _ := find(fields, 0, ref.name)
		if g == nil {
			g, _ = find(l.Head, 0, ref.name)
		}
		switch {
		case g == nil:
			return fmt.Errorf("no field %q beside it or in the head", ref.name)
		case ref.unit && g.Type != UnitCode:
			return fmt.Errorf("its unit is field %q, which is %v", ref.name, g.Type)
		case !ref.unit && (!g.Type.whole() || g.Size != 1 || g.Bits != Bits{}):
			return fmt.Errorf("its class is field %q, want a whole number of one byte", ref.name)
		}
	}
	if f.Revision {
		if g, _ := find(l.Head, 0, f.Name); g != f {
			return errors.New("a revision stands in the head")
		}
	}
	return nil
}
