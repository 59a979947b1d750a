package loop

import "math"

// A Verdict holds the loop against one limit.
type Verdict struct {
	Limit   string // "lift-off voltage", "loop resistance", "supply current", "cable", "tones", "polarity", "host"
	Device  string // whose limit it is; empty for the loop's
	Finding Finding
	Got     float64 // NaN where there is no number
	Want    float64 // the limit; NaN where there is none
	Unit    string
	Says    string // one sentence, with the numbers, without a full stop
	Mend    string // what would mend it, where it is broken: one thing or another, each enough
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
func (l *Loop) Reckon(nowMA, worstMA []float64) *Budget {
	c := &condition{Loop: *l, now: nowMA, worst: worstMA}
	b := &Budget{
		Loop:  l,
		Now:   l.Settle(nowMA),
		Worst: l.Solve(worstMA),
		NeedV: l.NeedV(worstMA),
		Tones: l.Tones(),
		Rules: l.Rules(),
	}
	b.add(c.judgeLiftOff(b)...)
	b.add(c.judgePolarity()...)
	b.add(c.judgeResistance())
	b.add(c.judgeHost()...)
	b.add(c.judgeSupply(b))
	b.add(c.judgeCable(b))
	b.add(c.judgeTones(b)...)
	return b
}

func (b *Budget) add(v ...Verdict) { b.Verdicts = append(b.Verdicts, v...) }

// OK reports whether no limit is broken.
func (b *Budget) OK() bool {
	for i := range b.Verdicts {
		if b.Verdicts[i].Finding == Broken {
			return false
		}
	}
	return true
}

// words is a verdict without numbers.
func words(limit, device string, f Finding, says string) Verdict {
	return Verdict{Limit: limit, Device: device, Finding: f, Got: math.NaN(), Want: math.NaN(), Says: says}
}

// broken is Broken or Holds.
func broken(is bool) Finding {
	if is {
		return Broken
	}
	return Holds
}
