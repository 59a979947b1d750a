package commandfile

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"looptone/frame/near"
	"looptone/frame/payload"
	"looptone/frame/userfile"
)

// codeTable reads a code table of the file.
func (r *reader) codeTable(t *userfile.Table) {
	t.Need("name", `"set point source"`)
	t.Need("rows", `[ { code = 0, text = "analog input" } ]`)
	c := &payload.Table{Name: words(t, "name"), Source: words(t, "source")}
	t.List("rows", "row", `{ code = 0, text = "analog input" }`, func(t *userfile.Table) {
		c.Rows = append(c.Rows, rowOf(t, c.Rows))
	})
	if len(c.Rows) == 0 {
		t.Refuse("rows", errors.New("the code table has no rows, want at least one"))
	}
	if _, ok := payload.LookupTable(c.Name); ok {
		t.Refuse("name", fmt.Errorf("code table %q is built in, want another name", c.Name))
	}
	if r.tables[c.Name] != nil {
		t.Refuse("name", fmt.Errorf("code table %q is defined twice, want one", c.Name))
	}
	r.tables[c.Name] = c
}

// rowOf reads { code, text }, { bit, text } or { code, mask, text }; before are the
// rows that stand above it.
func rowOf(t *userfile.Table, before []payload.Row) payload.Row {
	t.Need("text", `"analog input"`)
	isBit := t.Has("bit")
	isCode := t.Has("code")
	isMask := t.Has("mask")
	row := payload.Row{
		Code: uint32(t.Whole("code", 0, math.MaxUint32, 0)),
		Mask: uint32(t.Whole("mask", 1, math.MaxUint32, 0)),
		Text: words(t, "text"),
	}
	bit := t.Whole("bit", 0, 31, 0)
	switch {
	case isBit && (isCode || isMask):
		t.Refuse("bit", errors.New("the row has a bit and a code, want one of them"))
	case isBit:
		row.Code, row.Mask = 1<<bit, 1<<bit
	case !isCode:
		t.Need("code", "0")
	case isMask && row.Code&^row.Mask != 0:
		t.Refuse("code", fmt.Errorf("code %#x has bits that mask %#x has not: no number would have this meaning", row.Code, row.Mask))
	}
	for _, other := range before {
		if other.Code == row.Code && other.Mask == row.Mask && t.Sound() {
			t.Refuse("", fmt.Errorf("code %d has two meanings, %q and %q: want one", row.Code, other.Text, row.Text))
		}
	}
	return row
}

// tableOf reads which code table a field has: the name of a built-in one, or one of
// the file.
func (r *reader) tableOf(t *userfile.Table) (name string, own *payload.Table) {
	name, ok := t.Text("table")
	if !ok {
		return "", nil
	}
	if own = r.tables[name]; own != nil {
		if kind, ok := t.Value("type").(string); ok && kind == payload.Flags.String() {
			wantBits(t, own)
		}
		return "", own
	}
	if _, ok := payload.LookupTable(name); !ok {
		t.Refuse("table", r.unknownTable(name))
	}
	return name, nil
}

// wantBits refuses a table for flags whose rows are no bits.
func wantBits(t *userfile.Table, c *payload.Table) {
	for _, row := range c.Rows {
		if row.Mask == 0 {
			t.Refuse("table", fmt.Errorf("code table %q gives %d a meaning, want its rows to name bits: bit = 0 in place of code = 1",
				c.Name, row.Code))
			return
		}
	}
}

func (r *reader) unknownTable(name string) error {
	var names []string
	for _, c := range payload.Tables() {
		names = append(names, c.Name)
	}
	names = slices.AppendSeq(names, maps.Keys(r.tables))
	slices.Sort(names)
	if instead := near.Name(name, names); instead != "" {
		return fmt.Errorf("code table %q is unknown: did you mean %q?", name, instead)
	}
	return fmt.Errorf("code table %q is unknown, want a [[table]] of this file or a built-in one", name)
}
