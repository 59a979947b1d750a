package payload

import (
	"fmt"
	"slices"
)

// Table gives the numbers of an enumeration, or the bits of a set, their
// meaning. Source names the documents of all rows that are not from memory.
type Table struct {
	Name   string
	Source string
	Rows   []Row
}

// Row is one meaning: of the numbers that equal Code in the bits of Mask. Mask 0
// is all bits; the rows of a set name theirs. FromMemory marks a row for which
// no document was at hand.
type Row struct {
	Code, Mask uint32
	Text       string
	FromMemory bool
}

// code is a row of an enumeration.
func code(n uint32, text string) Row { return Row{Code: n, Text: text} }

// flag is a row of a set: one bit.
func flag(bit uint32, text string) Row { return Row{Code: bit, Mask: bit, Text: text} }

// part is a row of a set: several bits that are read together.
func part(mask, n uint32, text string) Row { return Row{Code: n, Mask: mask, Text: text} }

// recalled is the row, marked as from memory.
func (r Row) recalled() Row {
	r.FromMemory = true
	return r
}

func (r *Row) matches(n uint32) bool {
	if r.Mask == 0 {
		return n == r.Code
	}
	return n&r.Mask == r.Code
}

// LookupTable finds a table by name. Without one it gives nil, which is a table
// without rows.
func LookupTable(name string) (*Table, bool) {
	t := tableNamed(name)
	return t, t != nil
}

// table gives a field's numbers their meaning; nil for none.
func (f *Field) table() *Table {
	if f.Own != nil {
		return f.Own
	}
	return tableNamed(f.Table)
}

// Tables lists the tables by name.
func Tables() []*Table { return slices.Clone(tables) }

func (t *Table) rows() []Row {
	if t == nil {
		return nil
	}
	return t.Rows
}

// Text is the meaning of a number, "" where it has none here.
func (t *Table) Text(n uint32) string {
	rows := t.rows()
	for i := range rows {
		if rows[i].matches(n) {
			return rows[i].Text
		}
	}
	return ""
}

// Code is the number that has a meaning, or the bits of a flag's name.
func (t *Table) Code(text string) (n uint32, ok bool) {
	rows := t.rows()
	for i := range rows {
		if plain(rows[i].Text) == text {
			return rows[i].Code, true
		}
	}
	return 0, false
}

// bitNames are the names of bits that have none, so that naming costs no
// allocation.
var bitNames = func() (names [32]string) {
	for i := range names {
		names[i] = fmt.Sprintf("bit %d", i)
	}
	return names
}()

// AppendNames appends what a set of width bits says, and "bit 3" for a bit that
// is set and has no name.
func (t *Table) AppendNames(dst []string, set uint32, width int) []string {
	var named uint32
	rows := t.rows()
	for i := range rows {
		named |= rows[i].Mask
		if rows[i].matches(set) {
			dst = append(dst, rows[i].Text)
		}
	}
	for bit := range width {
		if (set&^named)>>bit&1 != 0 {
			dst = append(dst, bitNames[bit])
		}
	}
	return dst
}

func (t *Table) meanings() (texts []string) {
	for _, r := range t.rows() {
		texts = append(texts, r.Text)
	}
	return texts
}
