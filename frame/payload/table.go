package payload

import (
	"slices"
	"strconv"
)

// Table gives the numbers of an enumeration, or the bits of a set, their
// meaning.
type Table struct {
	Name string
	Rows []Row
}

// Row is one meaning: of the numbers that equal Code in the bits of Mask. Mask 0
// is all bits; the rows of a set name theirs.
type Row struct {
	Code, Mask uint32
	Text       string
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
	t := tableByName[name]
	return t, t != nil
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
			dst = append(dst, "bit "+strconv.Itoa(bit))
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
