package loop

import "math"

// Gauges that [OhmPerKM] knows.
const (
	thickestAWG = 0
	thinnestAWG = 40
)

// copperOhmM is the resistivity of annealed copper at 20 °C, in ohm·m.
//
// Source: International Annealed Copper Standard (IEC 60028, 1925), from memory.
const copperOhmM = 1.7241e-8

// OhmPerKM is the resistance of a copper conductor of an American Wire Gauge at 20 °C;
// gauges 0 to 40, also odd ones. ok is false for others.
//
// Source: from memory (ASTM B258: 0.005 inch is gauge 36, 39 steps to 0.46 inch).
func OhmPerKM(awg int) (ohm float64, ok bool) {
	if awg < thickestAWG || awg > thinnestAWG {
		return 0, false
	}
	diameter := 0.127e-3 * math.Pow(92, float64(36-awg)/39)
	area := math.Pi / 4 * diameter * diameter
	return copperOhmM / area * 1000, true
}
