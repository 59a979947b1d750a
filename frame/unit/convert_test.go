package unit

import (
	"errors"
	"math"
	"testing"
)

// The right column is the published factor, to the digits that are published.
//
// Source: NIST Special Publication 811 (2008), appendix B.8; from memory.
func TestConvertPublishedFactors(t *testing.T) {
	for _, c := range []struct {
		from, to Code
		want     float64
		digits   int
	}{
		{6, 11, 6894.757, 7},     // pound-force per square inch (psi) to pascal
		{7, 11, 1e5, 15},         // bar
		{8, 11, 100, 15},         // millibar
		{13, 11, 133.3224, 7},    // torr
		{14, 11, 101325, 15},     // atmosphere, standard
		{5, 11, 133.3224, 7},     // millimetre of mercury, conventional
		{2, 11, 3386.389, 7},     // inch of mercury, conventional
		{238, 11, 249.082, 6},    // inch of water (39.2 °F)
		{145, 11, 248.84, 5},     // inch of water (60 °F)
		{10, 11, 98066.5, 15},    // kilogram-force per square centimetre
		{9, 11, 98.0665, 15},     // gram-force per square centimetre
		{40, 43, 3.785412e-3, 7}, // gallon (US)
		{42, 43, 4.54609e-3, 15}, // gallon [Canadian and UK (Imperial)]
		{46, 43, 0.1589873, 7},   // barrel [for petroleum, 42 gallons (US)]
		{112, 43, 2.831685e-2, 7},
		{113, 43, 1.638706e-5, 7},
		{111, 43, 0.7645549, 7},
		{110, 43, 3.523907e-2, 7}, // bushel (US)
		{16, 28, 6.309020e-5, 7},  // gallon (US) per minute
		{15, 28, 4.719474e-4, 7},  // cubic foot per minute
		{26, 28, 2.831685e-2, 7},  // cubic foot per second
		{63, 61, 0.45359237, 15},  // pound (avoirdupois)
		{125, 61, 2.834952e-2, 7}, // ounce (avoirdupois)
		{64, 61, 907.1847, 7},     // ton, short
		{65, 61, 1016.047, 7},     // ton, long
		{82, 73, 1.259979e-4, 7},  // pound per hour
		{81, 73, 7.559873e-3, 7},  // pound per minute
		{85, 73, 0.2519958, 7},    // ton, short, per hour
		{44, 45, 0.3048, 15},
		{47, 48, 2.54, 15},
		{116, 21, 5.08e-3, 15}, // foot per minute
		{93, 92, 119.8264, 7},  // pound per gallon (US)
		{94, 92, 16.01846, 7},  // pound per cubic foot
		{98, 92, 27679.90, 7},  // pound per cubic inch
		{99, 92, 1186.553, 7},  // ton, short, per cubic yard
		{126, 164, 1.355818e-6, 7},
		{165, 164, 1.05505585262e-3, 12}, // British thermal unit (IT)
		{142, 127, 2.930711e-4, 7},       // British thermal unit (IT) per hour
		{162, 164, 4.1868, 15},           // calorie (IT)
		{129, 127, 0.7456999, 7},         // horsepower (550 ft·lbf/s)
		{128, 164, 3.6, 15},              // kilowatt hour
		{119, 117, 6, 15},                // revolution per minute
		{143, 144, 1.745329e-2, 7},       // degree
	} {
		got, err := Convert(1, c.from, c.to)
		if err != nil || math.Abs(got/c.want-1) > 0.5001*math.Pow(10, float64(1-c.digits)) {
			t.Errorf("%v to %v: got %v, %v, want %v", c.from, c.to, got, err, c.want)
		}
	}
}

// Fixed points of the temperature scales.
//
// Source: NIST Special Publication 811 (2008), appendix B.9 (temperature).
func TestConvertTemperature(t *testing.T) {
	for _, c := range []struct {
		v        float64
		from, to Code
		want     float64
	}{
		{0, 32, 33, 32}, {100, 32, 33, 212}, {-40, 33, 32, -40}, {0, 32, 35, 273.15},
		{273.15, 35, 34, 491.67}, {273.15, 35, 32, 0}, {0, 33, 34, 459.67}, {491.67, 34, 33, 32},
	} {
		if got, err := Convert(c.v, c.from, c.to); err != nil || got != c.want {
			t.Errorf("%v %v: got %v %v (%v), want %v", c.v, c.from, got, c.to, err, c.want)
		}
	}
}

// Decimal steps come out as the numbers that a person expects.
func TestConvertIsExactWhereItCanBe(t *testing.T) {
	for _, c := range []struct {
		v        float64
		from, to Code
		want     float64
	}{
		{250, 8, 12, 25}, {1, 237, 12, 1000}, {60, 17, 19, 3.6}, {0.1, 7, 12, 10},
		{1, 19, 138, 1000}, {12, 75, 71, 200}, {7, 57, 57, 7},
	} {
		if got, err := Convert(c.v, c.from, c.to); err != nil || got != c.want {
			t.Errorf("%v %v: got %v %v (%v), want %v", c.v, c.from, got, c.to, err, c.want)
		}
	}
}

func TestConvertBackAndForth(t *testing.T) {
	pairs := 0
	for _, from := range Codes() {
		for _, to := range OfQuantity(from.Quantity()) {
			there, err := Convert(17.25, from, to)
			if err != nil {
				continue
			}
			pairs++
			back, err := Convert(there, to, from)
			if err != nil || math.Abs(back-17.25) > 1e-12*17.25 {
				t.Errorf("17.25 %v is %v %v and back %v (%v)", from, there, to, back, err)
			}
		}
	}
	if pairs < 1000 {
		t.Errorf("only %d pairs convert", pairs)
	}
}

func TestConvertErrors(t *testing.T) {
	for _, c := range []struct {
		from, to Code
		want     string
	}{
		{12, 32, "no conversion from kPa (pressure) to °C (temperature)"},
		{149, 139, "no conversion from vol % (volume fraction) to ppm (ratio)"},
		{104, 101, "no conversion from °API to °Brix: no exact factor is defined"},
		{189, 19, "no conversion from unit 189 (none) to m³/h (volume flow)"},
	} {
		if _, err := Convert(1, c.from, c.to); err == nil || err.Error() != c.want || !errors.Is(err, ErrConversion) {
			t.Errorf("%v to %v: got %v, want %q", c.from, c.to, err, c.want)
		}
	}
}
