package payload

import (
	"fmt"
	"slices"

	"looptone/frame"
)

// Basis is where a revision is known from.
type Basis uint8

const (
	Given   Basis = iota // the caller knew it
	Told                 // the data themselves tell it, as the reply to command 0 does
	Assumed              // neither: see [Definition.Decode]
)

// Layout is the layout of a direction in revision rev; 0 asks for the newest. It
// is the first of [Definition.Forms].
func (d *Definition) Layout(kind frame.Kind, rev uint8) (*Layout, error) {
	forms, err := d.Forms(kind, rev)
	if err != nil {
		return nil, err
	}
	return &forms[0], nil
}

// Forms are the layouts of a direction in revision rev, 0 for the newest: one,
// or several where devices of that revision differ, the shorter first.
func (d *Definition) Forms(kind frame.Kind, rev uint8) ([]Layout, error) {
	layouts := d.layouts(kind)
	if len(layouts) == 0 {
		return nil, fmt.Errorf("command %d (%s): its %s is not known", d.Command, d.Name, direction(kind.FromSlave()))
	}
	held := Revisions{layouts[0].For.From, layouts[len(layouts)-1].For.To}
	if rev == 0 {
		rev = held.newest()
	}
	first := slices.IndexFunc(layouts, func(l Layout) bool { return l.For.Has(rev) })
	if first < 0 {
		return nil, fmt.Errorf("command %d (%s) has no %s in revision %d, want %v",
			d.Command, d.Name, direction(kind.FromSlave()), rev, held)
	}
	end := first + 1
	for end < len(layouts) && layouts[end].For.Has(rev) {
		end++
	}
	return layouts[first:end], nil
}

// choose finds the layout by which data are to be read, and the revision.
func (d *Definition) choose(kind frame.Kind, data []byte, rev uint8) (*Layout, uint8, Basis) {
	layouts := d.layouts(kind)
	if told := toldRevision(layouts, data); told != 0 {
		return nearest(layouts, told, len(data)), told, Told
	}
	if rev != 0 {
		return nearest(layouts, rev, len(data)), rev, Given
	}
	if len(layouts) == 1 && layouts[0].For.Has(NewestRevision) { // whether the data fit or not
		return &layouts[0], NewestRevision, Assumed
	}
	for i := len(layouts) - 1; i >= 0; i-- {
		if l := &layouts[i]; l.fits(data) {
			return l, min(l.For.newest(), NewestRevision), Assumed
		}
	}
	return nearest(layouts, NewestRevision, len(data)), NewestRevision, Assumed
}

// toldRevision is the revision that the data tell; 0 where they do not.
func toldRevision(layouts []Layout, data []byte) uint8 {
	for i := range layouts {
		head := layouts[i].Head
		for j := range head {
			if !head[j].Revision {
				continue
			}
			if at := length(head[:j]); at < len(data) {
				return data[at]
			}
		}
	}
	return 0
}

// nearest is the layout of revision rev; for a revision between or beyond the
// known ones, of the last before it, for one before all of them the first. Of
// several forms it is the longest that n bytes fill. nil if there is none at all.
func nearest(layouts []Layout, rev uint8, n int) (found *Layout) {
	for i := range layouts {
		l := &layouts[i]
		switch {
		case found == nil, l.For != found.For && l.For.From <= rev:
			found = l
		case l.For == found.For && n >= l.MinLen():
			found = l
		}
	}
	return found
}

// fits reports whether data have exactly the length of this layout; where that
// varies, the one that they tell themselves.
func (l *Layout) fits(data []byte) bool {
	n, head := len(data), lengthIn(l.Head, data, 0)
	switch {
	case len(l.Group) == 0:
		return n == head+length(l.Tail) || l.endsEarly(n)
	case varying(l.Group) != nil:
		slots, end := l.varyingSlots(data)
		return slots >= l.Min && n == end
	}
	rest := n - head - length(l.Tail)
	group := length(l.Group)
	return rest >= l.Min*group && rest <= l.Max*group && rest%group == 0
}

// endsEarly reports whether data that may leave out fields can have n bytes.
func (l *Layout) endsEarly(n int) bool {
	at := 0
	for i := range l.Head {
		if at == n && i >= l.Need && l.parts(i) {
			return true
		}
		if at < n && n < at+l.Head[i].Size && l.shortens(i) {
			return true
		}
		at += l.Head[i].step()
	}
	return false
}

// parts reports whether data may end before field i of Head: bits of one byte
// stay together, and so do a value, its unit and its class, and bytes and their
// number.
func (l *Layout) parts(i int) bool {
	if i > 0 && l.Head[i-1].Bits.Low > 0 {
		return false
	}
	return !anyRefers(l.Head[i:], l.Head[:i]) && !anyRefers(l.Head[:i], l.Head[i:])
}

// anyRefers reports whether one of the fields names one of the others.
func anyRefers(fields, others []Field) bool {
	for i := range fields {
		f := &fields[i]
		if refers(others, f.UnitField) || refers(others, f.Class) || refers(others, f.SizeField) {
			return true
		}
	}
	return false
}

func refers(fields []Field, name string) bool {
	f, _ := find(fields, 0, name)
	return f != nil && name != ""
}

// shortens reports whether field i of Head may be cut short by the end of the
// data: uninterpreted bytes at the end of a layout that may stop before them.
func (l *Layout) shortens(i int) bool {
	return i == len(l.Head)-1 && i >= l.Need && l.Head[i].Type == Bytes && l.Head[i].SizeField == ""
}
