package commandfile

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"looptone/frame/payload"
)

// codeTable reads a code table of the file.
func (r *reader) codeTable(t *table) {
	t.need("name", `"set point source"`)
	t.need("rows", `[ { code = 0, text = "analog input" } ]`)
	c := &payload.Table{Name: t.words("name")}
	if _, ok := t.values["source"]; ok {
		c.Source = t.words("source")
	} else {
		t.ask("source")
	}
	t.list("rows", "row", `{ code = 0, text = "analog input" }`, func(t *table) {
		c.Rows = append(c.Rows, t.row(c.Rows))
	})
	if len(c.Rows) == 0 {
		t.refuse("rows", errors.New("the code table has no rows, want at least one"))
	}
	if _, ok := payload.LookupTable(c.Name); ok {
		t.refuse("name", fmt.Errorf("code table %q is built in, want another name", c.Name))
	}
	if r.tables[c.Name] != nil {
		t.refuse("name", fmt.Errorf("code table %q is defined twice, want one", c.Name))
	}
	r.tables[c.Name] = c
}

// row reads { code, text }, { bit, text } or { code, mask, text }; before are the
// rows that stand above it.
func (t *table) row(before []payload.Row) payload.Row {
	t.need("text", `"analog input"`)
	_, isBit := t.values["bit"]
	_, isCode := t.values["code"]
	_, isMask := t.values["mask"]
	row := payload.Row{
		Code: uint32(t.whole("code", 0, math.MaxUint32, 0)),
		Mask: uint32(t.whole("mask", 1, math.MaxUint32, 0)),
		Text: t.words("text"),
	}
	bit := t.whole("bit", 0, 31, 0)
	switch {
	case isBit && (isCode || isMask):
		t.refuse("bit", errors.New("the row has a bit and a code, want one of them"))
	case isBit:
		row.Code, row.Mask = 1<<bit, 1<<bit
	case !isCode:
		t.need("code", "0")
	case isMask && row.Code&^row.Mask != 0:
		t.refuse("code", fmt.Errorf("code %#x has bits that mask %#x has not: no number would have this meaning", row.Code, row.Mask))
	}
	for _, other := range before {
		if other.Code == row.Code && other.Mask == row.Mask && t.sound() {
			t.refuse("", fmt.Errorf("code %d has two meanings, %q and %q: want one", row.Code, other.Text, row.Text))
		}
	}
	return row
}

// tableOf reads which code table a field has: the name of a built-in one, or one of
// the file.
func (r *reader) tableOf(t *table) (name string, own *payload.Table) {
	name, ok := t.text("table")
	if !ok {
		return "", nil
	}
	if own = r.tables[name]; own != nil {
		if kind, ok := t.values["type"].(string); ok && kind == payload.Flags.String() {
			t.wantBits(own)
		}
		return "", own
	}
	if _, ok := payload.LookupTable(name); !ok {
		t.refuse("table", r.unknownTable(name))
	}
	return name, nil
}

// wantBits refuses a table for flags whose rows are no bits.
func (t *table) wantBits(c *payload.Table) {
	for _, row := range c.Rows {
		if row.Mask == 0 {
			t.refuse("table", fmt.Errorf("code table %q gives %d a meaning, want its rows to name bits: bit = 0 in place of code = 1",
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
	if instead := near(name, names); instead != "" {
		return fmt.Errorf("code table %q is unknown: did you mean %q?", name, instead)
	}
	return fmt.Errorf("code table %q is unknown, want a [[table]] of this file or a built-in one", name)
}
