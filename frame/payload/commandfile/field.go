package commandfile

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"looptone/frame/near"
	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/frame/userfile"
)

const exampleField = `{ name = "set point", type = "float", unit = "%" }`

// fields reads a list of fields. seen holds those of the layout so far, by their
// names as they are typed.
func (r *reader) fields(t *userfile.Table, key string, seen map[string]*userfile.Table) (fields []payload.Field) {
	t.List(key, "field", exampleField, func(t *userfile.Table) {
		f := r.field(t)
		fields = append(fields, f)
		if before, ok := seen[typed(f.Name)]; ok && f.Name != "" {
			t.Refuse("name", fmt.Errorf("there are two fields %q, the first in line %d: want a name of its own for each",
				f.Name, before.Line("name")))
		}
		seen[typed(f.Name)] = t
	})
	return fields
}

func (r *reader) field(t *userfile.Table) payload.Field {
	t.Need("name", `"set point"`)
	t.Need("type", `"float"`)
	f := payload.Field{Name: fieldName(t), Type: fieldType(t)}
	if f.Name != "" {
		t.Name = fmt.Sprintf("field %q", f.Name)
	}
	f.Size, f.SizeField = sizes(t, f.Type)
	f.Bits = bitsOf(t, f.Size)
	f.Table, f.Own = r.tableOf(t)
	f.Unit = unitOf(t)
	f.UnitField, _ = t.Text("unit_field")
	if f.Unit != 0 && f.UnitField != "" {
		t.Refuse("unit_field", errors.New("the field has a unit and a unit_field, want one of them"))
	}
	f.Class, _ = t.Text("class_field")
	f.Revision = t.Truth("tells_revision", false)
	return f
}

// fieldName reads a name that a person can type in front of an equals sign.
func fieldName(t *userfile.Table) string {
	name := words(t, "name")
	if strings.Contains(name, "=") {
		t.Refuse("name", fmt.Errorf("field name %q has an equals sign, want none: what a field holds is typed as name=content", name))
	}
	return name
}

// typed is a name as a person may type it: in any case, with underscores for its
// blanks. [payload.Layout.Parse] tells fields apart by it.
func typed(name string) string { return strings.ToLower(strings.ReplaceAll(name, "_", " ")) }

func fieldType(t *userfile.Table) (typ payload.Type) {
	s, ok := t.Text("type")
	if !ok {
		return 0
	}
	if err := typ.UnmarshalText([]byte(s)); err != nil {
		if instead := near.Name(s, typeNames()); instead != "" {
			err = fmt.Errorf("no field type %q: did you mean %q?", s, instead)
		}
		t.Refuse("type", err)
	}
	return typ
}

// typeNames are those that UnmarshalText reads.
func typeNames() (names []string) {
	for typ := payload.Unsigned; ; typ++ {
		var back payload.Type
		if back.UnmarshalText([]byte(typ.String())) != nil {
			return names
		}
		names = append(names, typ.String())
	}
}

// sizes reads the number of bytes, or the field that holds it.
func sizes(t *userfile.Table, typ payload.Type) (most int, field string) {
	field, isField := t.Text("size_field")
	switch {
	case !isField || typ == 0:
		return size(t, typ), ""
	case typ != payload.Bytes:
		t.Refuse("size_field", fmt.Errorf("size_field is for type %v, want none for type %v", payload.Bytes, typ))
	case t.Has("size"):
		t.Refuse("size_field", errors.New("the field has a size and a size_field, want one of them"))
	case field == "":
		t.Refuse("size_field", errors.New("size_field is empty, want the name of a field before it"))
	}
	_, most, _ = typ.Sizes()
	return most, field
}

// size reads the number of bytes, which types of one size need not tell. It is 0
// where that was refused.
func size(t *userfile.Table, typ payload.Type) int {
	v, ok := t.Ask("size")
	if typ == 0 {
		return 0
	}
	least, most, multiple := typ.Sizes()
	switch n, whole := v.(int64); {
	case !ok && least == most:
		return least
	case !ok:
		t.Need("size", strconv.Itoa(least))
	case !whole || n < int64(least) || n > int64(most) || n%int64(multiple) != 0:
		want := strconv.Itoa(least)
		if most > least {
			want = fmt.Sprintf("%d to %d", least, most)
		}
		if multiple > 1 {
			want += fmt.Sprintf(", a multiple of %d,", multiple)
		}
		t.RefuseValue("size", "%s for type %v", want, typ)
	default:
		return int(n)
	}
	return 0
}

// bitsOf reads "7-3" or "2", of a field of size bytes.
func bitsOf(t *userfile.Table, size int) payload.Bits {
	s, ok := t.Text("bits")
	if !ok || size == 0 {
		return payload.Bits{}
	}
	from, to, isRange := strings.Cut(s, "-")
	if !isRange {
		to = from
	}
	high, errHigh := strconv.ParseUint(from, 10, 8)
	low, errLow := strconv.ParseUint(to, 10, 8)
	if errHigh != nil || errLow != nil || high < low || int(high) >= 8*min(size, 4) {
		t.Refuse("bits", fmt.Errorf("bits %q, want the highest and the lowest, of %d to 0, for instance \"7-3\" or \"2\"", s, 8*min(size, 4)-1))
		return payload.Bits{}
	}
	return payload.Bits{Low: uint8(low), Width: uint8(high - low + 1)}
}

// unitOf reads a fixed unit, by symbol or by code.
func unitOf(t *userfile.Table) unit.Code {
	v, ok := t.Ask("unit")
	if !ok {
		return 0
	}
	switch v := v.(type) {
	case string:
		if code, ok := unit.Lookup(v); ok && code != 0 {
			return code
		}
		t.Refuse("unit", unknownUnit(v))
	case int64:
		if v >= 1 && v <= 255 {
			return unit.Code(v)
		}
		t.RefuseValue("unit", "a code from 1 to 255, or a symbol")
	default:
		t.RefuseValue("unit", "a symbol or a code, for instance \"kPa\" or 12")
	}
	return 0
}

func unknownUnit(symbol string) error {
	var symbols []string
	for _, c := range unit.Codes() {
		symbols = append(symbols, c.String())
	}
	if instead := near.Name(symbol, symbols); instead != "" {
		return fmt.Errorf("unit %q is unknown: did you mean %q?", symbol, instead)
	}
	return fmt.Errorf("unit %q is unknown, want a symbol such as \"kPa\", or a code from 1 to 255", symbol)
}
