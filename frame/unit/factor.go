package unit

// Exact factors to SI, from which the table's conversions are built.
//
// Source: NIST Special Publication 811 (2008), appendix B.8; from memory.
const (
	inch      = 0.0254
	foot      = 12 * inch
	yard      = 3 * foot
	pound     = 0.45359237
	ounce     = pound / 16
	shortTon  = 2000 * pound
	longTon   = 2240 * pound
	gravity   = 9.80665
	gallon    = 231 * inch * inch * inch
	impGallon = 4.54609e-3
	bushel    = 2150.42 * inch * inch * inch
	barrel    = 42 * gallon
	mercury   = 13595.1       // kg/m³ at 0 °C, by convention
	btu       = 1055.05585262 // International Table
	calorie   = 4.1868        // International Table
	poundFoot = pound * gravity * foot
	poundInch = pound * gravity / (inch * inch) // psi in pascal
	hp        = 550 * poundFoot                 // the mechanical horsepower
	minute    = 60
	hour      = 3600
	day       = 86400
)

// Density of air-free water in kg/m³. These are measured, so the columns of
// water are the only rows of the table whose factors are not exact.
//
// Source: from memory (standard tables of the density of water).
const (
	water4C  = 999.972
	water60F = 999.016
	water68F = 998.207
)

const pi = 3.14159265358979323846264338327950288
