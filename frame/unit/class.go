package unit

import "slices"

// quantities are what variables of a class are measured in.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.49 (64, 70, 80, 83); the others
// from memory.
var quantities = map[Class][]Quantity{
	64: {Temperature},
	65: {Pressure},
	66: {VolumeFlow, NormalVolumeFlow, StandardVolumeFlow},
	67: {Velocity},
	68: {Volume, NormalVolume, StandardVolume},
	69: {Length},
	70: {Time},
	71: {Mass},
	72: {MassFlow},
	73: {Density},
	77: {Energy},
	78: {Force},
	79: {Power},
	80: {Frequency},
	82: {Capacitance},
	83: {Voltage},
	84: {Current},
	85: {Resistance},
	86: {Angle},
	87: {Conductance},
}

// Measures reports whether a variable of the class can be in the unit. Where one
// of the two is not known well enough, it can.
func (c Class) Measures(u Code) bool {
	want, known := quantities[c]
	return !known || u.Quantity() == None || slices.Contains(want, u.Quantity())
}

// Units are the units of the class, as far as they are known, in order.
func (c Class) Units() (codes []Code) {
	for _, q := range quantities[c] {
		codes = append(codes, OfQuantity(q)...)
	}
	slices.Sort(codes)
	return codes
}
