package unit

import "fmt"

// Quantity is what a unit measures. Values convert within one quantity only.
type Quantity uint8

// The quantities. Gas at normal or standard conditions is one of its own: what
// the conditions are is agreed between people, not in the code.
const (
	None Quantity = iota
	Pressure
	VolumeFlow
	NormalVolumeFlow
	StandardVolumeFlow
	MassFlow
	Temperature
	Voltage
	Current
	Resistance
	Frequency
	Volume
	NormalVolume
	StandardVolume
	Length
	Time
	KinematicViscosity
	DynamicViscosity
	Conductance
	Conductivity
	Ratio
	Acidity
	Mass
	Force
	Energy
	Power
	Density
	HydrometerScale
	SolidsContent
	AlcoholContent
	Velocity
	AngularVelocity
	Angle
	MassConcentration
	VolumeFraction
	Consistency
	SteamQuality
	SpecificVolume
	Capacitance
	ExplosiveLimit
)

var quantityNames = [...]string{
	"none", "pressure", "volume flow", "normal volume flow", "standard volume flow", "mass flow",
	"temperature", "voltage", "current", "resistance", "frequency", "volume", "normal volume",
	"standard volume", "length", "time", "kinematic viscosity", "dynamic viscosity", "conductance",
	"conductivity", "ratio", "acidity", "mass", "force", "energy", "power", "density",
	"hydrometer scale", "solids content", "alcohol content", "velocity", "angular velocity", "angle",
	"mass concentration", "volume fraction", "consistency", "steam quality", "specific volume",
	"capacitance", "explosive limit",
}

// String is the quantity in plain words.
func (q Quantity) String() string {
	if int(q) < len(quantityNames) {
		return quantityNames[q]
	}
	return fmt.Sprintf("quantity %d", uint8(q))
}
