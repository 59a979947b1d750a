package linefile

import (
	"fmt"
	"strings"

	"looptone/frame/near"
	"looptone/frame/unit"
	"looptone/frame/userfile"
	"looptone/sim/transmitter"
)

// scale reads lower, upper and a unit of quantity q; otherwise stands for a unit
// that is not given, 0 makes it a must.
func scale(t *userfile.Table, q unit.Quantity, otherwise unit.Code) transmitter.Scale {
	t.Need("lower", "0.0")
	t.Need("upper", "100.0")
	if otherwise == 0 {
		t.Need("unit", fmt.Sprintf("%q", exampleOf(q)))
	}
	return transmitter.Scale{Lower: t.Number("lower", 0), Upper: t.Number("upper", 0), Unit: unitOf(t, q, otherwise)}
}

// unitOf reads a unit of quantity q, or of any where q is none.
func unitOf(t *userfile.Table, q unit.Quantity, otherwise unit.Code) unit.Code {
	symbol, ok := t.Text("unit")
	if !ok {
		return otherwise
	}
	code, known := unit.Lookup(symbol)
	got := code.Quantity()
	switch {
	case !known:
		t.Refuse("unit", unknownUnit(symbol, q))
	case q != unit.None && got != q:
		t.Refuse("unit", fmt.Errorf("unit %q measures %v, want one of %v: %s", symbol, got, q, symbols(q)))
	case got == unit.None:
		t.Refuse("unit", fmt.Errorf("unit %q measures nothing, want for instance %s", symbol, anyExamples))
	default:
		return code
	}
	return otherwise
}

func unknownUnit(symbol string, q unit.Quantity) error {
	var candidates []string
	for _, c := range unit.Codes() {
		if q == unit.None || c.Quantity() == q {
			candidates = append(candidates, c.String())
		}
	}
	if instead := near.Name(symbol, candidates); instead != "" {
		return fmt.Errorf("unit %q is unknown: did you mean %q?", symbol, instead)
	}
	if q == unit.None {
		return fmt.Errorf("unit %q is unknown, want for instance %s", symbol, anyExamples)
	}
	return fmt.Errorf("unit %q is unknown, want one of %v: %s", symbol, q, symbols(q))
}

// symbols lists the units of a quantity.
func symbols(q unit.Quantity) string {
	var list []string
	for _, c := range unit.OfQuantity(q) {
		list = append(list, c.String())
	}
	return strings.Join(list, ", ")
}

// anyExamples are units where any quantity will do.
const anyExamples = `"m³/h", "m³" or "%"`

func exampleOf(q unit.Quantity) string {
	switch q {
	case unit.Pressure:
		return "kPa"
	case unit.Temperature:
		return "°C"
	}
	return "m³/h"
}
