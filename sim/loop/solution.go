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
// are reversed. wantMA has one number a device. Where the devices want more than the
// supply can push through what is in series, voltages come out below zero.
func (l *Loop) Solve(wantMA []float64) *Solution {
	s := new(Solution)
	s.begin(l, wantMA)
	s.ladder(l)
	s.remember()
	return s
}

// begin sizes a solution for the loop and lets every device that is not reversed draw
// what it wants.
func (s *Solution) begin(l *Loop, wantMA []float64) {
	s.CableV = sized(s.CableV, len(l.Cables))
	s.Devices = sized(s.Devices, len(l.Devices))
	for i := range s.Devices {
		s.Devices[i] = Power{MA: wantMA[i]}
		if l.Devices[i].Reversed {
			s.Devices[i] = Power{Dark: Backwards}
		}
	}
}

// sized is a slice of length n, in the space of old where that is enough.
func sized[T any](old []T, n int) []T {
	if cap(old) < n {
		return make([]T, n)
	}
	return old[:n]
}

// ladder finds the voltages from the currents of the devices: currents are added up
// from the far ends to the supply, then the voltage falls from the supply to the far
// ends. Until the second half has come to a cable, CableV holds its current.
func (s *Solution) ladder(l *Loop) {
	clear(s.CableV)
	s.SumMA = 0
	for i := range s.Devices {
		s.add(l.Devices[i].Behind, s.Devices[i].MA)
	}
	for i := len(l.Cables) - 1; i >= 0; i-- {
		s.add(l.Cables[i].Behind, s.CableV[i])
	}

	s.SourceV = l.Supply.V - s.SumMA*l.seriesOhm()/1000
	for i := range l.Cables {
		c := &l.Cables[i]
		s.CableV[i] = s.at(c.Behind) - s.CableV[i]*c.ohm()/1000
	}
	for i := range s.Devices {
		s.Devices[i].V = s.at(l.Devices[i].Behind)
	}
}

// add adds a current to that of a cable, or of the supply.
func (s *Solution) add(cable int, mA float64) {
	if cable == Source {
		s.SumMA += mA
		return
	}
	s.CableV[cable] += mA
}

// at is the voltage at the far end of a cable, or at the source.
func (s *Solution) at(cable int) float64 {
	if cable == Source {
		return s.SourceV
	}
	return s.CableV[cable]
}

// remember writes down what those have across them that did not go dark for too little.
func (s *Solution) remember() {
	for i := range s.Devices {
		if p := &s.Devices[i]; p.Dark != TooLow {
			p.WasV = p.V
		}
	}
}
