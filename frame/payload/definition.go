package payload

import (
	"fmt"
	"strconv"

	"looptone/frame"
	"looptone/frame/unit"
)

// NewestRevision is the newest universal revision that the definitions know.
const NewestRevision = 7

// Definition is a command: what its requests and replies hold. A direction
// without layouts is one of which nothing is known.
type Definition struct {
	Command        uint16
	Name           string
	Write          bool             // the command changes something in the device
	Request, Reply []Layout         // in the order of their revisions; forms of one revision, the shorter first
	Codes          map[uint8]string // meanings that response codes have for this command
}

// Layout is the data of a request or a reply, in some revisions. Where devices
// of the same revisions differ, each form is a layout, told by the length of
// the data.
type Layout struct {
	For      Revisions
	Head     []Field
	Need     int     // so many fields of Head must be there, the others may be left out from the end
	Group    []Field // repeated Min to Max times; each time is a slot, counted from 0
	Min, Max int
	Tail     []Field
}

// Revisions is a range of universal revisions, ends included. To 0 is no end.
type Revisions struct{ From, To uint8 }

// Field is one value in the data.
type Field struct {
	Name      string
	Type      Type
	Size      int       // in bytes; of all bytes that its bits are taken from; 255 beside SizeField
	SizeField string    // of bytes: name of the field before it, of its own list, that holds their number
	Bits      Bits      // part of Size bytes that it shares with its neighbours
	Table     string    // name of a code table
	Own       *Table    // a code table that is not built in, in place of Table
	Unit      unit.Code // fixed unit; 0 for none
	UnitField string    // name of the field that holds the unit
	Class     string    // of a unit: name of the field that holds the classification
	Revision  bool      // this field tells the revision, and so which layout holds
}

// Bits is a part of a field's bytes: Width bits from bit Low up. Width 0 is all
// of them. Fields that share bytes follow each other from the top bit down; the
// one that ends at bit 0 is the last.
type Bits struct{ Low, Width uint8 }

// String is for instance "7-3", or "3" for a single bit; "" for all.
func (b Bits) String() string {
	switch b.Width {
	case 0:
		return ""
	case 1:
		return strconv.Itoa(int(b.Low))
	}
	return fmt.Sprintf("%d-%d", int(b.Low)+int(b.Width)-1, b.Low)
}

// Has reports whether rev is in the range.
func (r Revisions) Has(rev uint8) bool { return rev >= r.From && rev <= r.newest() }

// newest is the last revision of the range, as far as the definitions go.
func (r Revisions) newest() uint8 {
	if r.To == 0 {
		return max(r.From, NewestRevision)
	}
	return r.To
}

// String is for instance "revision 5" or "revisions 6 to 7".
func (r Revisions) String() string {
	if r.From == r.newest() {
		return fmt.Sprintf("revision %d", r.From)
	}
	return fmt.Sprintf("revisions %d to %d", r.From, r.newest())
}

// layouts are those of a direction.
func (d *Definition) layouts(kind frame.Kind) []Layout {
	if kind.FromSlave() {
		return d.Reply
	}
	return d.Request
}

// step is the number of bytes by which the place moves on behind the field: 0
// while other fields share its bytes, and for a field of varying size, which may
// be empty and has nothing behind it in its list.
func (f *Field) step() int {
	if f.Bits.Low > 0 || f.SizeField != "" {
		return 0
	}
	return f.Size
}

// length is that of a list without what varies.
func length(fields []Field) (n int) {
	for i := range fields {
		n += fields[i].step()
	}
	return n
}

// find gives the field of that name and its place in a list that starts at base.
func find(fields []Field, base int, name string) (f *Field, at int) {
	for i := range fields {
		if fields[i].Name == name {
			return &fields[i], base
		}
		base += fields[i].step()
	}
	return nil, 0
}

// MinLen is the length of the shortest data that are complete.
func (l *Layout) MinLen() int {
	return length(l.Head[:l.Need]) + l.Min*length(l.Group) + length(l.Tail)
}

// MaxLen is the length of the longest data of the layout; those of varying size
// are taken to be empty.
func (l *Layout) MaxLen() int {
	return length(l.Head) + l.Max*length(l.Group) + length(l.Tail)
}
