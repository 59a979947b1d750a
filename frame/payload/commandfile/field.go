package commandfile

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"looptone/frame/payload"
	"looptone/frame/unit"
)

const exampleField = `{ name = "set point", type = "float", unit = "%" }`

// fields reads a list of fields. seen holds where the names of the layout stand,
// as they are typed.
func (r *reader) fields(t *table, key string, seen map[string]string) (fields []payload.Field) {
	t.list(key, "field", exampleField, func(t *table) {
		f := r.field(t)
		fields = append(fields, f)
		if before, ok := seen[typed(f.Name)]; ok && f.Name != "" {
			t.refuse("name", fmt.Errorf("there are two fields %q, the first in line %d: want a name of its own for each",
				f.Name, t.doc.line(before)))
		}
		seen[typed(f.Name)] = below(t.path, "name")
	})
	return fields
}

func (r *reader) field(t *table) payload.Field {
	t.need("name", `"set point"`)
	t.need("type", `"float"`)
	f := payload.Field{Name: t.fieldName(), Type: t.fieldType()}
	if f.Name != "" {
		t.name = fmt.Sprintf("field %q", f.Name)
	}
	f.Size = t.size(f.Type)
	f.Bits = t.bits(f.Size)
	f.Table, f.Own = r.tableOf(t)
	f.Unit = t.unit()
	f.UnitField, _ = t.text("unit_field")
	if f.Unit != 0 && f.UnitField != "" {
		t.refuse("unit_field", errors.New("the field has a unit and a unit_field, want one of them"))
	}
	f.Class, _ = t.text("class_field")
	f.Revision = t.truth("tells_revision", false)
	return f
}

// fieldName reads a name that a person can type in front of an equals sign.
func (t *table) fieldName() string {
	name := t.words("name")
	if strings.Contains(name, "=") {
		t.refuse("name", fmt.Errorf("field name %q has an equals sign, want none: what a field holds is typed as name=content", name))
	}
	return name
}

// typed is a name as a person may type it: in any case, with underscores for its
// blanks. [payload.Layout.Parse] tells fields apart by it.
func typed(name string) string { return strings.ToLower(strings.ReplaceAll(name, "_", " ")) }

func (t *table) fieldType() (typ payload.Type) {
	s, ok := t.text("type")
	if !ok {
		return 0
	}
	if err := typ.UnmarshalText([]byte(s)); err != nil {
		if instead := near(s, typeNames()); instead != "" {
			err = fmt.Errorf("no field type %q: did you mean %q?", s, instead)
		}
		t.refuse("type", err)
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

// size reads the number of bytes, which types of one size need not tell. It is 0
// where that was refused.
func (t *table) size(typ payload.Type) int {
	v, ok := t.ask("size")
	if typ == 0 {
		return 0
	}
	least, most, multiple := typ.Sizes()
	switch n, whole := v.(int64); {
	case !ok && least == most:
		return least
	case !ok:
		t.need("size", strconv.Itoa(least))
	case !whole || n < int64(least) || n > int64(most) || n%int64(multiple) != 0:
		want := strconv.Itoa(least)
		if most > least {
			want = fmt.Sprintf("%d to %d", least, most)
		}
		if multiple > 1 {
			want += fmt.Sprintf(", a multiple of %d,", multiple)
		}
		t.refuseValue("size", "%s for type %v", want, typ)
	default:
		return int(n)
	}
	return 0
}

// bits reads "7-3" or "2", of a field of size bytes.
func (t *table) bits(size int) payload.Bits {
	s, ok := t.text("bits")
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
		t.refuse("bits", fmt.Errorf("bits %q, want the highest and the lowest, of %d to 0, for instance \"7-3\" or \"2\"", s, 8*min(size, 4)-1))
		return payload.Bits{}
	}
	return payload.Bits{Low: uint8(low), Width: uint8(high - low + 1)}
}

// unit reads a fixed unit, by symbol or by code.
func (t *table) unit() unit.Code {
	v, ok := t.ask("unit")
	if !ok {
		return 0
	}
	switch v := v.(type) {
	case string:
		if code, ok := unit.Lookup(v); ok && code != 0 {
			return code
		}
		t.refuse("unit", unknownUnit(v))
	case int64:
		if v >= 1 && v <= 255 {
			return unit.Code(v)
		}
		t.refuseValue("unit", "a code from 1 to 255, or a symbol")
	default:
		t.refuseValue("unit", "a symbol or a code, for instance \"kPa\" or 12")
	}
	return 0
}

func unknownUnit(symbol string) error {
	var symbols []string
	for _, c := range unit.Codes() {
		symbols = append(symbols, c.String())
	}
	if instead := near(symbol, symbols); instead != "" {
		return fmt.Errorf("unit %q is unknown: did you mean %q?", symbol, instead)
	}
	return fmt.Errorf("unit %q is unknown, want a symbol such as \"kPa\", or a code from 1 to 255", symbol)
}
