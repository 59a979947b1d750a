package unit

import (
	"slices"
	"testing"
)

// publishedSymbols are the units that documents print, under our symbols.
var publishedSymbols = map[Code]string{
	// Source: ABB 266 Modbus manual 2105216 p.87.
	2: "inHg 0 °C", 3: "ftH2O 68 °F", 4: "mmH2O 68 °F", 5: "mmHg 0 °C", 6: "psi", 7: "bar", 8: "mbar",
	9: "g/cm²", 10: "kg/cm²", 11: "Pa", 12: "kPa", 13: "torr", 14: "atm", 32: "°C", 33: "°F", 34: "°R", 35: "K",
	// Source: KROHNE IFC 010 HART command specification p.28.
	16: "US gal/min", 17: "L/min", 19: "m³/h", 22: "gal/s", 24: "L/s", 28: "m³/s", 40: "gal", 41: "L", 43: "m³",
	131: "m³/min", 136: "gal/h", 138: "L/h",
	// Source: KROHNE UFC 500 HART command specification p.14.
	39: "mA", 58: "V",
	// Source: Honeywell Enraf 990 service manual 4417.762 table 6-7.
	44: "ft", 45: "m", 47: "in", 92: "kg/m³", 94: "lb/ft³", 104: "°API",
	// Source: Buerkert, Type 8605 description of communication pp.16-18.
	51: "s", 57: "%",
	// Source: Rosemount 3300 reference manual 00809-0100-4811 table C-17; VEGAPULS 69 Modbus
	// instructions 47252-EN p.81.
	42: "imp gal", 46: "barrel (42 gal)", 48: "cm", 49: "mm", 111: "yd³", 112: "ft³", 113: "in³",
	// Source: Siemens SITRANS FST030 A5E37367739-AD pp.149, 156.
	60: "g", 61: "kg", 62: "t", 63: "lb", 64: "short ton", 65: "long ton", 110: "bushel",
	121: "normal m³/h", 122: "normal L/h", 123: "std ft³/min", 124: "barrel liquid (31.5 gal)", 125: "oz",
	166: "normal m³", 167: "normal L", 168: "std ft³", 236: "hL",
	// Source: 2flow MAG-11 manual p.44.
	127: "kW", 140: "Mcal/h", 141: "MJ/h",
	// Source: Buerkert mass flow controllers, serial communication supplement p.29.
	250: "not used", 251: "none", 252: "unknown", 253: "special",
}

func TestPublishedCodes(t *testing.T) {
	for _, code := range Codes() {
		want, published := publishedSymbols[code]
		if published == code.FromMemory() {
			t.Errorf("unit %d: published %v, from memory %v", uint8(code), published, code.FromMemory())
		}
		if got := code.String(); published && got != want {
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

// Every code of the table has a document, or is marked.
func TestFromMemory(t *testing.T) {
	recalled := 0
	for c := range 256 {
		switch c := Code(c); {
		case c.FromMemory() && !c.Known():
			t.Errorf("unit %d is from memory and means nothing", uint8(c))
		case c.FromMemory():
			recalled++
		}
	}
	if known := len(Codes()); known != 174 || recalled != 105 {
		t.Errorf("%d of %d codes are from memory, want 105 of 174", recalled, known)
	}
	classes := 0
	for _, e := range WithClass() {
		if !e.Code.NeedsClass() || e.Code.Symbol(e.Class) != e.Symbol {
			t.Errorf("unit %d, class %d: got %q, want %q", uint8(e.Code), e.Class, e.Code.Symbol(e.Class), e.Symbol)
		}
		if e.ClassFromMemory {
			classes++
		}
	}
	if n := len(WithClass()); n != 24 || classes != 20 {
		t.Errorf("%d of %d classes are from memory, want 20 of 24", classes, n)
	}
}

func TestSymbolDoesNotAllocate(t *testing.T) {
	if n := testing.AllocsPerRun(10, func() {
		for c := range 256 {
			_ = Code(c).Symbol(Class(c))
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
