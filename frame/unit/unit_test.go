package unit

import (
	"slices"
	"testing"
)

// Source: KROHNE IFC 010 HART command specification p.28; Buerkert, Type 8605
// description of communication p.16; ABB 266 Modbus manual 2105216 p.87;
// Siemens SITRANS FST030 A5E37367739-AD p.149.
func TestPublishedCodes(t *testing.T) {
	for code, want := range map[Code]string{
		6: "psi", 7: "bar", 12: "kPa", 16: "US gal/min", 19: "m³/h", 22: "gal/s", 24: "L/s", 28: "m³/s",
		32: "°C", 33: "°F", 35: "K", 40: "gal", 41: "L", 43: "m³", 51: "s", 57: "%", 121: "normal m³/h",
		131: "m³/min", 138: "L/h", 251: "none",
	} {
		if got := code.String(); got != want {
			t.Errorf("unit %d: got %q, want %q", uint8(code), got, want)
		}
	}
}

// Source: FieldComm Group support article 8000091234 (189 under classes 103 to
// 106); Siemens SITRANS FST030 A5E37367739-AD p.149 (189 for gas).
func TestSymbolNeedsClass(t *testing.T) {
	for class, want := range map[Class]string{
		0: "unit 189", 65: "unit 189", 66: "std m³/min", 103: "US liquid barrel/s", 106: "US liquid barrel/day",
	} {
		if got := Code(189).Symbol(class); got != want {
			t.Errorf("unit 189, class %d: got %q, want %q", class, got, want)
		}
	}
	for c := Code(170); c <= 219; c++ {
		if c.Known() || c.Quantity() != None {
			t.Errorf("unit %d is known without a class", uint8(c))
		}
	}
	if got := Code(12).Symbol(66); got != "kPa" {
		t.Errorf("unit 12, class 66: got %q, want kPa", got)
	}
}

func TestUnknownCodes(t *testing.T) {
	for _, c := range []Code{0, 156, 159, 220, 244, 254, 255} {
		if c.Known() || c.Quantity() != None || len(c.String()) < 6 || c.String()[:5] != "unit " {
			t.Errorf("unit %d: got %q", uint8(c), c)
		}
	}
}

func TestLookup(t *testing.T) {
	for symbol, want := range map[string]Code{
		"kPa": 12, "m³/h": 19, "m3/h": 19, "°C": 32, "degC": 32, "%": 57, "mA": 39, "N·m": 69, "N.m": 69,
		"uS/cm": 67, "μS/cm": 67, "µS/cm": 67, "g/cm2": 9, "inH2O 68 °F": 1, "inH2O_68_degF": 1, "Ω": 37,
		"MPa": 237, "normal m3/h": 121,
	} {
		if got, ok := Lookup(symbol); !ok || got != want {
			t.Errorf("%s: got %d, %v, want %d", symbol, got, ok, want)
		}
	}
	for _, symbol := range []string{"", "kpa", "mPa", "unit 12", "std m³/min"} {
		if got, ok := Lookup(symbol); ok {
			t.Errorf("%q: got %d, want none", symbol, got)
		}
	}
}

func TestEverySymbolIsFoundAgain(t *testing.T) {
	codes := Codes()
	if len(codes) != 174 {
		t.Errorf("%d codes, want 174", len(codes))
	}
	for _, c := range codes {
		if got, ok := Lookup(c.String()); !ok || got != c {
			t.Errorf("%v: got %d, %v, want %d", c, got, ok, uint8(c))
		}
		if c < 250 && c.Quantity() == None {
			t.Errorf("%v has no quantity", c)
		}
	}
}

func TestOfQuantity(t *testing.T) {
	if got, want := OfQuantity(Temperature), []Code{32, 33, 34, 35}; !slices.Equal(got, want) {
		t.Errorf("temperature: got %v, want %v", got, want)
	}
	for q := None; q <= ExplosiveLimit; q++ {
		if len(OfQuantity(q)) == 0 {
			t.Errorf("%v has no unit", q)
		}
	}
	if got := (ExplosiveLimit + 1).String(); got != "quantity 40" {
		t.Errorf("got %q", got)
	}
}
