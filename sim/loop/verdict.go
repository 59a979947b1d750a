package loop

// A Verdict holds the loop against one limit.
type Verdict struct {
	Limit   string // "lift-off voltage", "loop resistance", "supply current", "cable", "tones", "polarity", "host"
	Device  string // whose limit it is; empty for the loop's
	Finding Finding
	Got     float64 // NaN where there is no number
	Want    float64 // the limit; NaN where there is none
	Unit    string
	Says    string // one sentence, with the numbers
	Mend    string // what would mend it, where it is broken
}

// A Finding is how a verdict comes out.
type Finding uint8

const (
	Holds Finding = iota
	Broken
	Unknown // what is needed to tell was not given
)

// A Budget is all that is reckoned of a loop.
type Budget struct {
	Loop     *Loop
	Now      *Solution // settled, at the currents of now
	Worst    *Solution // every device draws what it may at most, lit or not
	NeedV    float64   // at the worst currents
	Tones    *Tones
	Rules    []Rule
	Verdicts []Verdict
}

// Reckon holds a loop against its limits: with the currents of now, and with the
// highest that every device may come to, in mA.
func (l *Loop) Reckon(nowMA, worstMA []float64) *Budget { panic("not written yet") }

// OK reports whether no limit is broken.
func (b *Budget) OK() bool { panic("not written yet") }
