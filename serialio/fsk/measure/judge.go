package measure

import (
	"fmt"
	"math"
	"strconv"
)

// Verdicts are of all limits, in the order of [Limits].
func (r *Report) Verdicts() []Verdict {
	return []Verdict{
		r.judgeTone(limitMark, "mark", &r.Mark),
		r.judgeTone(limitSpace, "space", &r.Space),
		r.judgeBitRate(),
		r.judgeAmplitude(), r.judgeCurrent(),
		r.judgePhase(), r.judgeBits(),
		r.judgeEnd(limitLead, &r.Lead, mostLead, "before the first start bit"),
		r.judgeEnd(limitTail, &r.Tail, mostTail, "behind the last stop bit"),
		r.judgeEnd(limitRise, &r.Rise, mostRise, "from a tenth to nine tenths of the amplitude"),
		r.judgeEnd(limitDecay, &r.Decay, mostDecay, "from nine tenths to a tenth of the amplitude"),
		r.judgePreambles(), r.judgeGaps(), r.judgeParity(), r.judgeMessages(), r.judgeResponse(),
		r.judgeInBand(), r.judgeBeside(),
	}
}

// OK reports whether no limit is broken.
func (r *Report) OK() bool {
	for _, v := range r.Verdicts() {
		if v.Finding == Broken {
			return false
		}
	}
	return true
}

// Why nothing is to tell.
const (
	noVolts   = "what a sample is in volts is not known"
	noMessage = "there is no whole message"
	noSilence = "there is no silence of 40 ms in it"
)

func unseen(name, why string) Verdict {
	return Verdict{Limit: limit(name), Says: why, Least: math.NaN(), Most: math.NaN()}
}

// within is a verdict on a number that may not go beyond bounds, of which one may be NaN.
func within(name string, got, least, most float64, unit, says string) Verdict {
	v := Verdict{Limit: limit(name), Finding: Kept, Got: got, Least: least, Most: most, Unit: unit, Says: says}
	if got < least || got > most {
		v.Finding = Broken
	}
	return v
}

func atMost(name string, got, most float64, unit, says string) Verdict {
	return within(name, got, math.NaN(), most, unit, says)
}

// worst is the end of a spread that is further from what it should be.
func worst(s *Spread, nominal float64) float64 {
	if nominal-s.Least > s.Most-nominal {
		return s.Least
	}
	return s.Most
}

func (r *Report) judgeTone(name, tone string, t *Tone) Verdict {
	if t.Hz.N == 0 {
		return unseen(name, "no "+tone+" is long enough to measure its frequency")
	}
	says := fmt.Sprintf("%.1f Hz, which is %s; from run to run %.1f Hz rms", t.Hz.Mean, percentOff(t.Hz.Mean, t.Nominal), t.Hz.SD)
	return within(name, worst(&t.Hz, t.Nominal), t.Nominal*(1-tolerance), t.Nominal*(1+tolerance), "Hz",
		says+carriersFrom(&t.Hz, "Hz"))
}

// carriersFrom says how far carriers differ, where there are several.
func carriersFrom(s *Spread, unit string) string {
	if s.N < 2 {
		return ""
	}
	return fmt.Sprintf("; carriers from %.1f to %.1f %s", s.Least, s.Most, unit)
}

func percentOff(got, nominal float64) string {
	off := (got/nominal - 1) * 100
	switch {
	case math.Abs(off) < 0.005:
		return "as it should be"
	case off < 0:
		return fmt.Sprintf("%.2f %% too low", -off)
	}
	return fmt.Sprintf("%.2f %% too high", off)
}

func (r *Report) judgeBitRate() Verdict {
	if r.BitRate.N == 0 {
		return unseen(limitBitRate, "there are not enough edges of bits")
	}
	const nominal = 1200
	says := fmt.Sprintf("%.2f bit/s, which is %s", r.BitRate.Mean, percentOff(r.BitRate.Mean, nominal))
	return within(limitBitRate, worst(&r.BitRate, nominal), nominal*(1-tolerance), nominal*(1+tolerance), "bit/s",
		says+carriersFrom(&r.BitRate, "bit/s"))
}

func (r *Report) judgeAmplitude() Verdict {
	least, n := math.Inf(1), 0
	for _, a := range [...]*Spread{&r.Mark.Amplitude, &r.Space.Amplitude} {
		if a.N > 0 {
			least, n = min(least, a.Least), n+1
		}
	}
	v, known := r.Volts(least)
	switch {
	case !known:
		return unseen(limitAmplitude, noVolts)
	case n == 0:
		return unseen(limitAmplitude, "no tone was measured")
	}
	says := fmt.Sprintf("the weakest tone has %.1f mV peak to peak", v*1000)
	switch {
	case v < neverHeard:
		says += ", which no receiver should hear"
	case v < leastHeard:
		says += ", which a receiver may hear or not"
	}
	return within(limitAmplitude, v*1000, leastHeard*1000, math.NaN(), "mV", says)
}

func (r *Report) judgeCurrent() Verdict {
	least, known := r.Milliamperes(r.Devices.Least)
	most, _ := r.Milliamperes(r.Devices.Most)
	switch {
	case !known:
		return unseen(limitCurrent, "it takes the volts of a sample and the ohms that the current flows through")
	case r.Devices.N == 0:
		return unseen(limitCurrent, "there is no carrier on which only a device talks")
	}
	got := most
	if leastMA-least > most-mostBorne {
		got = least
	}
	says := fmt.Sprintf("tones of devices are %.3f to %.3f mA peak to peak", least, most)
	if most > mostMA && most <= mostBorne {
		says += "; a modulator's data sheet has 0.9 to 1.1 mA, and 500 mV across 250 ohm, which is called typical, are 2 mA"
	}
	return within(limitCurrent, got, leastMA, mostBorne, "mA", says)
}

func (r *Report) judgePhase() Verdict {
	e := &r.Edges
	switch {
	case e.Count == 0:
		return unseen(limitPhase, "no edge was measured")
	case e.Resolution > mostJump && e.JumpRMS <= e.Resolution:
		return unseen(limitPhase, fmt.Sprintf("from these samples a jump of less than %.0f° cannot be told from none", e.Resolution))
	}
	return atMost(limitPhase, e.JumpRMS, mostJump, "°",
		fmt.Sprintf("jumps of %.1f° rms, the largest %.0f°, at %d edges; less than %.1f° cannot be told from none", e.JumpRMS, e.LargestJump, e.Count, e.Resolution))
}

func (r *Report) judgeBits() Verdict {
	e := &r.Edges
	if e.Isochronal.N == 0 {
		return unseen(limitBits, "there are not enough edges of bits")
	}
	return atMost(limitBits, e.StartStop*100, mostOffGrid*100, "%",
		fmt.Sprintf("edges are at most %.1f %% of a bit from where their start bit has them, and %.1f %% rms from an even grid; from the earliest to the latest %.1f %% (isochronous distortion)",
			e.StartStop*100, e.RMS*100, e.Isochronal.Most*100))
}

func (r *Report) judgeEnd(name string, s *Spread, most float64, where string) Verdict {
	if s.N == 0 {
		if r.EndsOff > mostHidden && (name == limitRise || name == limitDecay) {
			return unseen(name, "noise hides how fast carriers go on and off")
		}
		return unseen(name, "no carrier goes on or off there in the waveform")
	}
	v := atMost(name, s.Most, most, "bits", fmt.Sprintf("%.1f bit times %s", s.Most, where))
	if s.N > 1 {
		v.Says = fmt.Sprintf("%.1f to %.1f bit times %s, at %d carriers", s.Least, s.Most, where, s.N)
	}
	if (name == limitRise || name == limitDecay) && s.Most < atOnce {
		v.Says = "at once, as far as half a bit time can be told"
	}
	switch unsure := timingErrors + endDeviations*r.EndsOff; {
	case s.Most <= most+timingErrors:
		v.Finding = Kept
	case s.Most <= most+unsure:
		v.Finding = NotMeasurable
		v.Says += fmt.Sprintf("; noise moves that by up to %.1f, so whether it is kept cannot be told", unsure)
	}
	return v
}

func (r *Report) judgePreambles() Verdict {
	p := &r.Messages.Preambles
	if p.N == 0 {
		return unseen(limitPreambles, noMessage)
	}
	got := p.Least
	if got >= leastFF {
		got = p.Most
	}
	says := fmt.Sprintf("%.0f before every message", p.Least)
	if p.Least != p.Most {
		says = fmt.Sprintf("%.0f to %.0f before a message", p.Least, p.Most)
	}
	return within(limitPreambles, got, leastFF, mostFF, "preambles", says)
}

func (r *Report) judgeGaps() Verdict {
	m := &r.Messages
	if m.Whole+m.Damaged == 0 {
		return unseen(limitGaps, "there is no message")
	}
	says := fmt.Sprintf("at most %.1f bit times between the characters of a message", m.LongestGap)
	if m.Gaps > 0 {
		says += "; longer than a character: " + strconv.Itoa(m.Gaps)
	}
	return atMost(limitGaps, m.LongestGap, mostGap, "bits", says)
}

func (r *Report) judgeParity() Verdict {
	m := &r.Messages
	says := fmt.Sprintf("wrong parity bits: %d, wrong stop bits: %d, of %d characters", m.Parity, m.Framing, r.Characters)
	if m.Stray > 0 {
		says += fmt.Sprintf("; not counted are stray ones, where one carrier follows another: %d", m.Stray)
	}
	return atMost(limitParity, float64(m.Parity+m.Framing), 0, "errors", says)
}

func (r *Report) judgeMessages() Verdict {
	m := &r.Messages
	if m.Whole+m.Damaged == 0 {
		return unseen(limitMessages, "there is no message, but characters: "+strconv.FormatInt(r.Characters, 10))
	}
	says := fmt.Sprintf("%d whole, %d damaged", m.Whole, m.Damaged)
	if m.CutOff > 0 {
		says += fmt.Sprintf("; the end of the waveform cuts off %d", m.CutOff)
	}
	return atMost(limitMessages, float64(m.Damaged), 0, "damaged messages", says)
}

func (r *Report) judgeResponse() Verdict {
	s := &r.Messages.Response
	if s.N == 0 {
		return unseen(limitResponse, "there is no request with a reply")
	}
	const most = slaveTimeOut * characterBits / 1.2 // ms
	return atMost(limitResponse, s.Most*1000, most, "ms",
		fmt.Sprintf("%d replies begin %.1f to %.1f ms behind their request", s.N, s.Least*1000, s.Most*1000))
}

func (r *Report) judgeInBand() Verdict {
	switch _, known := r.Volts(1); {
	case !known:
		return unseen(limitInBand, noVolts)
	case r.Silent.Seconds == 0:
		return unseen(limitInBand, noSilence)
	}
	v, _ := r.Volts(r.Silent.In)
	return atMost(limitInBand, v*1000, mostInBand*1000, "mV", fmt.Sprintf("%.2f mV rms, in %.2f s of silence", v*1000, r.Silent.Seconds))
}

func (r *Report) judgeBeside() Verdict {
	switch _, known := r.Volts(1); {
	case !known:
		return unseen(limitBeside, noVolts)
	case r.Silent.Seconds == 0:
		return unseen(limitBeside, noSilence)
	}
	v, _ := r.Volts(math.Hypot(r.Silent.Below, r.Silent.Above))
	says := fmt.Sprintf("%.2f mV rms, in %.2f s of silence", v*1000, r.Silent.Seconds)
	if !r.Silent.HasTop {
		says += "; the samples tell nothing above 10 kHz"
	}
	return atMost(limitBeside, v*1000, mostBeside*1000, "mV", says)
}
