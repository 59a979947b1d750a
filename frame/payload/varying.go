package payload

import (
	"errors"
	"fmt"
)

// maxCounted is the largest number of bytes that a field of one byte can count.
const maxCounted = 255

// varying is the field of a list whose size another one holds, nil for none: it
// is the last.
func varying(fields []Field) *Field {
	if last := len(fields) - 1; last >= 0 && fields[last].SizeField != "" {
		return &fields[last]
	}
	return nil
}

// counts reports whether f holds the size of another field of its list.
func (f *Field) counts(fields []Field) bool {
	v := varying(fields)
	return v != nil && v.SizeField == f.Name
}

// sizeIn is the size that data give the varying field v of a list that starts at
// base; 0 where they end before they tell.
func sizeIn(v *Field, fields []Field, data []byte, base int) int {
	if _, at := find(fields, base, v.SizeField); at < len(data) {
		return int(data[at])
	}
	return 0
}

// lengthIn is the length that data give a list that starts at base, which may be
// more than they have.
func lengthIn(fields []Field, data []byte, base int) int {
	n := length(fields)
	if v := varying(fields); v != nil {
		n += sizeIn(v, fields, data, base)
	}
	return n
}

// varyingSlots is how often a group of varying size stands in data, a slot that
// the end cuts short included, and where the last one ends by what it says.
func (l *Layout) varyingSlots(data []byte) (slots, end int) {
	end = length(l.Head)
	for slots < l.Max && end < len(data) {
		end += lengthIn(l.Group, data, end)
		slots++
	}
	return slots, end
}

// decodeVarying is decode of a layout with a group of varying size, behind which
// nothing stands.
func (l *Layout) decodeVarying(dst []Value, data []byte) []Value {
	p := pass{Layout: l, data: data, group: length(l.Head)}
	p.slots, p.end = l.varyingSlots(data)
	p.tail = p.end
	dst, at := p.decode(dst, l.Head, 0, -1)
	for slot := range p.slots {
		dst, at = p.decode(dst, l.Group, at, slot)
	}
	return appendExtra(dst, data, p.end)
}

// content is what src has for a field of a list; a number of bytes follows from
// these, and must be theirs where src has one.
func (f *Field) content(fields []Field, slot int, src Source) (Content, error) {
	c, ok := src.Content(f, slot)
	if !f.counts(fields) {
		if !ok {
			return c, ErrMissing
		}
		return c, nil
	}
	v := varying(fields)
	held, isHeld := src.Content(v, slot)
	size := len(held.Bytes)
	switch {
	case !isHeld:
		return c, ErrMissing
	case size > maxCounted:
		return c, &FieldError{v.Name, slot, tooMany(size)}
	case ok && !c.is(size):
		return c, &FieldError{f.Name, slot, fmt.Errorf("%w of %s: got %s, want %d", ErrCount, v.Name, c.numberText(), size)}
	}
	return Content{Number: float64(size)}, nil
}

func tooMany(size int) error {
	return &lengthError{fmt.Sprintf("has %d bytes, want at most %d", size, maxCounted)}
}

// is reports whether c, of one unsigned byte, is n.
func (c Content) is(n int) bool {
	if c.Bytes != nil {
		return len(c.Bytes) == 1 && int(c.Bytes[0]) == n
	}
	return c.Number == float64(n)
}

// numberText is c, of an unsigned, for a sentence.
func (c Content) numberText() string {
	if c.Bytes != nil {
		return fmt.Sprintf("% x", c.Bytes)
	}
	return fmt.Sprint(c.Number)
}

// checkSize checks the size of a field that varies, the one at i of a list.
func (l *Layout) checkSize(fields []Field, i int) error {
	f := &fields[i]
	if f.SizeField == "" {
		return nil
	}
	inHead := len(l.Head) > 0 && &fields[0] == &l.Head[0]
	inTail := len(l.Tail) > 0 && &fields[0] == &l.Tail[0]
	g, _ := find(fields[:i], 0, f.SizeField)
	switch {
	case g == nil:
		return fmt.Errorf("no field %q before it in its list", f.SizeField)
	case g.Type != Unsigned || g.Size != 1 || g.Bits != Bits{}:
		return fmt.Errorf("its size is field %q, want an unsigned of one byte", f.SizeField)
	case inTail:
		return errors.New("varies in size, want it in the head or the group")
	case i < len(fields)-1:
		return errors.New("varies in size, want it at the end of its list")
	case len(l.Tail) > 0:
		return errors.New("varies in size, want no tail behind it")
	case inHead && len(l.Group) > 0:
		return errors.New("varies in size, want no group behind it")
	}
	return nil
}
