package payload

import (
	"looptone/frame"
	"looptone/frame/unit"
)

// Reading is what decoding found.
type Reading struct {
	Values   []Value
	Revision uint8 // by whose layout the data were read
	Basis    Basis
}

// extra stands for the bytes behind a layout.
//
// Source: R. Bowden's HART message board, post 2143 (data are appended by newer
// revisions, never changed; a receiver ignores what it does not know).
var extra = Field{Name: "extra bytes", Type: Bytes}

// Decode appends the values in data to dst, in byte order; good data cost no
// allocation. rev is the universal revision of the device, 0 where it is not
// known: then the newest whose layout has exactly the length of the data, else
// the newest, is assumed. Data that tell the revision decide themselves.
//
// Every byte belongs to a value, or is the unit of one; data without a layout
// have no values. A unit whose value is there is no value of its own. Bytes of
// which another field says that there are none are a value with an empty Raw.
// What the end of the data cuts short is one value that is [Value.Incomplete].
//
// The values share data, and are valid as long as those are.
func (d *Definition) Decode(dst []Value, kind frame.Kind, data []byte, rev uint8) Reading {
	l, used, basis := d.choose(kind, data, rev)
	if l != nil {
		dst = l.decode(dst, data)
	}
	return Reading{dst, used, basis}
}

// pass is one decoding: where the parts of the layout lie in the data.
type pass struct {
	*Layout
	data             []byte
	group, tail, end int // where the first slot, the tail, and the extra bytes begin
	slots            int
}

func (l *Layout) decode(dst []Value, data []byte) []Value {
	if len(l.Group)+len(l.Tail) == 0 {
		return l.decodeHead(dst, data)
	}
	if varying(l.Group) != nil {
		return l.decodeVarying(dst, data)
	}
	p := pass{Layout: l, data: data, group: length(l.Head)}
	size := length(l.Group)
	p.slots = l.slots(len(data) - p.group)
	p.tail = p.group + p.slots*size
	p.end = p.tail + length(l.Tail)
	dst, _ = p.decode(dst, l.Head, 0, -1)
	for slot := range p.slots {
		dst, _ = p.decode(dst, l.Group, p.group+slot*size, slot)
	}
	dst, _ = p.decode(dst, l.Tail, p.tail, -1)
	return appendExtra(dst, data, p.end)
}

// decodeHead is decode of a layout that is nothing but a head, as most are.
func (l *Layout) decodeHead(dst []Value, data []byte) []Value {
	if len(data) == 0 {
		return dst
	}
	p := pass{Layout: l, data: data, group: len(data), tail: len(data)}
	dst, end := p.decode(dst, l.Head, 0, -1)
	return appendExtra(dst, data, end)
}

// appendExtra appends what stands behind the end of a layout.
func appendExtra(dst []Value, data []byte, end int) []Value {
	if end < len(data) {
		dst = append(dst, Value{Field: &extra, Slot: -1, At: end, Raw: data[end:]})
	}
	return dst
}

// slots is how often the group stands in rest bytes, a slot that the end cuts
// short included.
func (l *Layout) slots(rest int) int {
	size, tail := length(l.Group), length(l.Tail)
	if size == 0 || rest <= 0 {
		return 0
	}
	if n := (rest - tail) / size; rest >= tail && (rest-tail)%size == 0 && n >= l.Min && n <= l.Max {
		return n
	}
	n := rest / size
	if rest%size != 0 && (tail == 0 || n < l.Min) {
		n++
	}
	return min(n, l.Max)
}

// decode reads the fields of one list, which starts at base and ends at at.
func (p *pass) decode(dst []Value, fields []Field, base, slot int) (values []Value, at int) {
	at = base
	for i := range fields {
		f := &fields[i]
		size, step := f.Size, f.step()
		if f.SizeField != "" {
			size = sizeIn(f, fields, p.data, base)
			step = size
		}
		if at > len(p.data) || at == len(p.data) && size > 0 {
			break
		}
		raw := p.data[at:min(at+size, len(p.data))]
		whole := len(raw) == size
		if whole && f.Type == UnitCode && p.serves(f, fields, base) {
			at += step
			continue
		}
		dst = append(dst, Value{})
		v := &dst[len(dst)-1]
		v.Field, v.Slot, v.At, v.Raw = f, slot, at, raw
		at += step
		if whole {
			p.setUnit(v, fields, base)
		} else {
			v.Incomplete = !p.mayShorten(f)
		}
	}
	return dst, at
}

// serves reports whether a value that is wholly in the data has f as its unit.
func (p *pass) serves(f *Field, fields []Field, base int) bool {
	if p.uses(fields, base, f) {
		return true
	}
	if len(p.Head) == 0 || &fields[0] != &p.Head[0] {
		return false
	}
	return p.slots > 0 && p.uses(p.Group, p.group, f) || p.uses(p.Tail, p.tail, f)
}

func (p *pass) uses(fields []Field, at int, f *Field) bool {
	for i := range fields {
		g := &fields[i]
		if g.UnitField == f.Name && at+g.Size <= len(p.data) {
			return true
		}
		at += g.step()
	}
	return false
}

// setUnit finds the unit of a value, and the class of that.
func (p *pass) setUnit(v *Value, fields []Field, base int) {
	f := v.Field
	switch {
	case f.Unit != 0:
		v.Unit, v.HasUnit = f.Unit, true
		return
	case f.Type == UnitCode:
		v.Unit, v.HasUnit = unit.Code(v.Raw[0]), true
	case f.UnitField != "":
		var code byte
		f, code, v.HasUnit = p.byteOf(f.UnitField, fields, base)
		v.Unit = unit.Code(code)
	}
	if v.HasUnit && f.Class != "" {
		_, class, _ := p.byteOf(f.Class, fields, base)
		v.Class = unit.Class(class)
	}
}

// byteOf is what stands in the field that is named, which is sought in the
// value's own list and then in the head.
func (p *pass) byteOf(name string, fields []Field, base int) (f *Field, b byte, ok bool) {
	f, at := find(fields, base, name)
	if f == nil {
		f, at = find(p.Head, 0, name)
	}
	if f == nil || at >= len(p.data) {
		return f, 0, false
	}
	return f, p.data[at], true
}
