package payload

import (
	"strconv"
	"strings"

	"looptone/frame/unit"
)

// Words are the contents that values hold for a field, as a person would type them to
// have them written again: words name=content for [Layout.Parse], one a slot.
func Words(values []Value, name string) (words []string) {
	typed := strings.ReplaceAll(name, " ", "_") + "="
	for i := range values {
		v := &values[i]
		switch {
		case v.Field.UnitField == name:
			return []string{typed + unitWord(v)}
		case v.Field.Name != name:
			continue
		}
		b, ok := v.AppendNumber(nil)
		if !ok {
			b, ok = v.AppendText(nil)
		}
		if ok {
			words = append(words, typed+string(b))
		}
	}
	return words
}

// unitWord is the unit of a value by its symbol, or where that stands for another one
// too by its code.
func unitWord(v *Value) string {
	if code, known := unit.Lookup(v.UnitSymbol()); known && code == v.Unit {
		return v.UnitSymbol()
	}
	return strconv.Itoa(int(v.Unit))
}
