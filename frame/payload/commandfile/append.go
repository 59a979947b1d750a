package commandfile

import (
	"fmt"
	"maps"
	"math/bits"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"looptone/frame/payload"
	"looptone/frame/unit"
)

// Append writes definitions as a file that [Parse] reads as the same ones. Code
// tables that are not built in come first. On an error, of a definition that is
// not valid or of two tables with one name, dst comes back as it was.
func Append(dst []byte, commands ...Command) ([]byte, error) {
	w := writer{}
	for _, c := range commands {
		if err := c.Definition.Check(); err != nil {
			return dst, err
		}
		for _, l := range slices.Concat(c.Definition.Request, c.Definition.Reply) {
			for _, f := range slices.Concat(l.Head, l.Group, l.Tail) {
				if err := w.table(f.Own); err != nil {
					return dst, err
				}
			}
		}
	}
	for i, c := range commands {
		if i > 0 || len(w.tables) > 0 {
			w.line("")
		}
		w.command(c)
	}
	return append(dst, w.text...), nil
}

// A writer appends lines of TOML.
type writer struct {
	text   []byte
	indent string
	tables []*payload.Table // that have been written
}

// line writes a line; format is as for fmt.
func (w *writer) line(format string, args ...any) {
	if format != "" {
		w.text = append(w.text, w.indent...)
	}
	w.text = append(fmt.Appendf(w.text, format, args...), '\n')
}

// table writes a code table of a definition's own, once.
func (w *writer) table(c *payload.Table) error {
	if c == nil || slices.Contains(w.tables, c) {
		return nil
	}
	for _, other := range w.tables {
		if other.Name == c.Name {
			return fmt.Errorf("two code tables are named %q, want a name of its own for each", c.Name)
		}
	}
	if len(w.tables) > 0 {
		w.line("")
	}
	w.tables = append(w.tables, c)
	w.line("[[table]]")
	w.line("name = %s", quote(c.Name))
	if c.Source != "" {
		w.line("source = %s", quote(c.Source))
	}
	w.line("rows = [")
	for _, row := range c.Rows {
		w.line("  { %s, text = %s },", codeOf(row), quote(row.Text))
	}
	w.line("]")
	return nil
}

func codeOf(row payload.Row) string {
	switch {
	case row.Mask == 0:
		return fmt.Sprintf("code = %d", row.Code)
	case row.Code == row.Mask && row.Mask&(row.Mask-1) == 0:
		return fmt.Sprintf("bit = %d", bits.TrailingZeros32(row.Mask))
	}
	return fmt.Sprintf("code = 0x%02x, mask = 0x%02x", row.Code, row.Mask)
}

func (w *writer) command(c Command) {
	d := c.Definition
	w.line("[[command]]")
	if c.DeviceType != payload.AnyDevice {
		w.line("expanded_device_type = 0x%04x", uint16(c.DeviceType))
	}
	w.line("number = %d", d.Command)
	w.line("name = %s", quote(d.Name))
	w.line("write = %v", d.Write)
	repeats := len(d.Request) > 0 && reflect.DeepEqual(d.Request, d.Reply)
	if repeats {
		w.line("reply_repeats_request = true")
	}
	w.indent = "  "
	for i := range d.Request {
		w.layout("request", &d.Request[i])
	}
	for i := range d.Reply {
		if !repeats {
			w.layout("reply", &d.Reply[i])
		}
	}
	if d.Codes != nil {
		w.line("[command.codes]")
		for _, code := range slices.Sorted(maps.Keys(d.Codes)) {
			w.line("%d = %s", code, quote(d.Codes[code]))
		}
	}
	w.indent = ""
}

func (w *writer) layout(direction string, l *payload.Layout) {
	w.line("[[command.%s]]", direction)
	w.line("revisions = %q", revisionsText(l.For))
	w.fields("fields", l.Head)
	if l.Need < len(l.Head) {
		w.line("need = %d", l.Need)
	}
	if len(l.Group) > 0 {
		w.fields("group", l.Group)
		w.line("min = %d", l.Min)
		w.line("max = %d", l.Max)
	}
	w.fields("tail", l.Tail)
}

// revisionsText is the range as a file has it.
func revisionsText(r payload.Revisions) string {
	switch r.To {
	case 0:
		return fmt.Sprintf("%d-", r.From)
	case r.From:
		return strconv.Itoa(int(r.From))
	}
	return fmt.Sprintf("%d-%d", r.From, r.To)
}

func (w *writer) fields(key string, fields []payload.Field) {
	if len(fields) == 0 {
		return
	}
	w.line("%s = [", key)
	for i := range fields {
		w.line("  { %s },", strings.Join(fieldPairs(&fields[i]), ", "))
	}
	w.line("]")
}

// fieldPairs are the keys of a field with their values.
func fieldPairs(f *payload.Field) []string {
	pairs := []string{"name = " + quote(f.Name), "type = " + quote(f.Type.String())}
	add := func(is bool, key, value string) {
		if is {
			pairs = append(pairs, key+" = "+value)
		}
	}
	least, most, _ := f.Type.Sizes()
	add(least != most && f.SizeField == "", "size", strconv.Itoa(f.Size))
	add(f.SizeField != "", "size_field", quote(f.SizeField))
	add(f.Bits.Width > 0, "bits", quote(f.Bits.String()))
	add(f.Table != "", "table", quote(f.Table))
	if f.Own != nil {
		add(true, "table", quote(f.Own.Name))
	}
	add(f.Unit != 0, "unit", unitText(f.Unit))
	add(f.UnitField != "", "unit_field", quote(f.UnitField))
	add(f.Class != "", "class_field", quote(f.Class))
	add(f.Revision, "tells_revision", "true")
	return pairs
}

// unitText is the symbol, or the code where that is what the symbol does not tell.
func unitText(u unit.Code) string {
	if code, ok := unit.Lookup(u.String()); ok && code == u {
		return quote(u.String())
	}
	return strconv.Itoa(int(u))
}

// quote writes a basic string of TOML; the words of a definition are printable.
func quote(s string) string { return `"` + escapes.Replace(s) + `"` }

var escapes = strings.NewReplacer(`"`, `\"`, `\`, `\\`)
