package payload

import (
	"errors"
	"fmt"
	"math"

	"looptone/frame"
)

// ErrDefinition tells that a definition contradicts itself.
var ErrDefinition = errors.New("not a valid definition")

// A DefinitionError says what in a definition cannot be, and where. It wraps
// [ErrDefinition].
type DefinitionError struct {
	Command uint16
	Reply   bool      // it is in the replies, not in the requests
	Layout  int       // which of these, from 0; -1 where it is in none
	For     Revisions // of that layout
	Field   *Field    // of that layout; nil where it is the layout as a whole
	Err     error
}

func (e *DefinitionError) Error() string {
	place := fmt.Sprintf("command %d", e.Command)
	if e.Layout >= 0 {
		place += fmt.Sprintf(", %s of %v", direction(e.Reply), e.For)
	}
	if e.Field != nil {
		place += fmt.Sprintf(": field %q", e.Field.Name)
	}
	return fmt.Sprintf("%v: %s: %v", ErrDefinition, place, e.Err)
}

func (e *DefinitionError) Unwrap() []error { return []error{ErrDefinition, e.Err} }

func direction(reply bool) string {
	if reply {
		return "reply"
	}
	return "request"
}

// Check reports the first thing in d that cannot be, as a [*DefinitionError]:
// sizes that its types do not have, names that lead nowhere, bits that overlap,
// revisions that do.
func (d *Definition) Check() error {
	number := 0 // bytes of the data that an extended number takes
	if d.Command > math.MaxUint8 {
		number = 2
	}
	if err := d.checkLayouts(d.Request, false, frame.MaxCount-number); err != nil {
		return err
	}
	if err := d.checkLayouts(d.Reply, true, frame.MaxReplyData-number); err != nil {
		return err
	}
	for code := range d.Codes {
		if code > 127 {
			return &DefinitionError{Command: d.Command, Layout: -1,
				Err: fmt.Errorf("response code %d, want 0 to 127", code)}
		}
	}
	return nil
}

func (d *Definition) checkLayouts(layouts []Layout, reply bool, room int) error {
	for i := range layouts {
		l := &layouts[i]
		f, err := l.check(room)
		if err == nil && i > 0 {
			err = l.checkBehind(&layouts[i-1])
		}
		if err == nil && l.For.newest() < l.For.From {
			err = errors.New("does not come behind the revisions before it")
		}
		if err != nil {
			return &DefinitionError{d.Command, reply, i, l.For, f, err}
		}
	}
	return nil
}

// checkBehind checks that the revision tells l from the layout before it, or the
// length of the data does, where both are forms of the same revisions.
func (l *Layout) checkBehind(before *Layout) error {
	switch {
	case l.For.From > before.For.newest():
		return nil
	case l.For != before.For:
		return errors.New("does not come behind the revisions before it")
	case varying(before.Head) != nil || varying(before.Group) != nil:
		return errors.New("is the second form behind one that varies in size")
	case l.MinLen() <= before.MaxLen():
		return fmt.Errorf("is the second form and may hold %d bytes, want more than the %d of the form before it",
			l.MinLen(), before.MaxLen())
	}
	return nil
}

// check also tells which field is wrong, nil for none.
func (l *Layout) check(room int) (*Field, error) {
	if err := l.checkShape(room); err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	for _, fields := range [...][]Field{l.Head, l.Group, l.Tail} {
		if f, err := l.checkFields(fields, seen); err != nil {
			return f, err
		}
	}
	return nil, nil
}

func (l *Layout) checkShape(room int) error {
	switch most := l.MaxLen(); {
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
	return nil
}

func (l *Layout) checkFields(fields []Field, seen map[string]bool) (*Field, error) {
	var open *Field // the field before, where it shares its bytes with the next
	for i := range fields {
		f := &fields[i]
		err := f.check()
		if err == nil {
			err = f.checkBits(open)
		}
		if err == nil {
			err = l.checkReferences(f, fields)
		}
		if err == nil {
			err = l.checkSize(fields, i)
		}
		if err == nil && (f.Name == "" || seen[f.Name]) {
			err = errors.New("wants a name of its own")
		}
		if err != nil {
			return f, err
		}
		seen[f.Name], open = true, nil
		if f.Bits.Low > 0 {
			open = f
		}
	}
	if open != nil {
		return open, fmt.Errorf("the bits below bit %d are missing", open.Bits.Low)
	}
	return nil, nil
}

func (f *Field) check() error {
	smallest, largest, multiple := f.Type.Sizes()
	switch {
	case f.Type < Unsigned || f.Type > Bytes:
		return fmt.Errorf("%v is none", f.Type)
	case f.Size < smallest || f.Size > largest || f.Size%multiple != 0:
		return fmt.Errorf("%v of %d bytes, want %d to %d, a multiple of %d", f.Type, f.Size, smallest, largest, multiple)
	case (f.Table != "" || f.Own != nil) && f.Type != Enumeration && f.Type != Flags:
		return fmt.Errorf("%v has no code table", f.Type)
	case f.Table != "" && tableNamed(f.Table) == nil:
		return fmt.Errorf("no code table %q", f.Table)
	case f.Table != "" && f.Own != nil:
		return errors.New("names a code table and has one of its own")
	case f.Unit != 0 && f.UnitField != "":
		return errors.New("has a fixed unit and a field that holds one")
	case (f.Unit != 0 || f.UnitField != "") && f.Type != Float && f.Type != Unsigned && f.Type != Time:
		return fmt.Errorf("%v has no unit", f.Type)
	case f.Class != "" && f.Type != UnitCode:
		return fmt.Errorf("%v does not depend on a class", f.Type)
	case f.SizeField != "" && f.Type != Bytes:
		return fmt.Errorf("%v does not vary in size", f.Type)
	case f.SizeField != "" && f.Size != maxCounted:
		return fmt.Errorf("varies in size up to %d bytes, want up to %d", f.Size, maxCounted)
	case f.Revision && (f.Type != Unsigned || f.Size != 1 || f.Bits != Bits{}):
		return errors.New("a revision is one unsigned byte")
	}
	return nil
}

// checkBits checks how f joins the field before, open, if that left bits of its
// bytes to the next.
func (f *Field) checkBits(open *Field) error {
	top := 8 * f.Size
	if open != nil {
		if open.Size != f.Size {
			return fmt.Errorf("shares %d bytes with a field of %d", f.Size, open.Size)
		}
		top = int(open.Bits.Low)
	}
	switch {
	case f.Bits == Bits{} && open == nil:
		return nil
	case f.Bits.Width > 0 && !f.Type.whole():
		return fmt.Errorf("%v takes whole bytes", f.Type)
	case f.Bits.Width == 0:
		return fmt.Errorf("takes whole bytes, want the bits from %d down, which are left of those before", top-1)
	case int(f.Bits.Low)+int(f.Bits.Width) != top:
		return fmt.Errorf("takes the bits %v, want them from bit %d down", f.Bits, top-1)
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
