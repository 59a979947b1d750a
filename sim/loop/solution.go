package loop

// A Solution is the voltages and currents of a loop.
type Solution struct {
	SumMA   float64   // that the supply carries
	SourceV float64   // where the first cable begins
	CableV  []float64 // at the far end of each cable
	Devices []Power
}

// Power is what a device has.
type Power struct {
	V    float64 // across it
	MA   float64 // that it draws
	Dark Dark
	WasV float64 // what it had across it when it went dark for too little; else as V
}

// Dark says why a device does not work.
type Dark uint8

const (
	Lit Dark = iota
	TooLow
	Backwards // its leads are swapped
)

// Solve lets every device draw what it wants, in mA, lit or not, but for those that
// are reversed. wantMA has one number a device.
func (l *Loop) Solve(wantMA []float64) *Solution { panic("not written yet") }

// Settle finds out who stays lit: of all devices with less than their lift-off voltage
// the one that lacks most goes dark, of several the last, and so on until those that are
// lit have enough. A device whose lift-off voltage is not known stays lit.
func (l *Loop) Settle(wantMA []float64) *Solution { panic("not written yet") }

// NeedV is the least supply voltage with which every device has its lift-off voltage
// while all draw what they want.
func (l *Loop) NeedV(wantMA []float64) float64 { panic("not written yet") }

// Most is how many parked devices (4 mA each) a supply of this voltage keeps lit, if all
// are like the most demanding one of the loop and hang where it does; ok is false where
// no lift-off voltage is known.
func (l *Loop) Most() (n int, like *Device, ok bool) { panic("not written yet") }
