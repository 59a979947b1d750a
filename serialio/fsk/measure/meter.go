package measure

import (
	"math"

	"looptone/serialio/fsk"
)

// Lengths in seconds.
const (
	margin      = 24 / fsk.BitRate // that is looked at around a carrier
	ending      = 8 / fsk.BitRate  // without a carrier, behind which it has gone off, and the waveform not ended
	history     = 1.0              // that is kept, as the demodulator tells late
	mostStretch = 1.5              // of characters, before they are measured
	apart       = 6 / fsk.BitRate  // what is so far from carriers is silence
	leastBit    = 0.8 / fsk.BitRate
	mostBit     = 1.2 / fsk.BitRate
)

// A meter measures samples as they come. Places are in thinned samples from the beginning.
type meter struct {
	Options
	ear     ear
	thinner thinner
	raw     float64 // samples a second
	rate    float64 // thinned ones
	samples int64

	x    []float64 // that are kept
	base int64     // place of the first of them

	carrier  carrier
	silentTo float64 // silence was measured up to there
	messages messages
	totals
}

// A carrier is one that is on, or has just gone off. A place that is not known is NaN.
type carrier struct {
	active  bool
	on, off float64
	from    float64 // where the part begins that was not yet measured
	since   float64 // as on, and stays when the beginning has been measured
	chars   []character
}

func newMeter(rate float64, by ear, o Options) *meter {
	m := &meter{Options: o, ear: by, thinner: newThinner(rate), raw: rate}
	m.rate = rate / float64(m.thinner.by)
	m.totals = newTotals(m.rate)
	return m
}

// seconds is when a place is.
func (m *meter) seconds(place float64) float64 {
	return (place*float64(m.thinner.by) + float64(m.thinner.by-1)/2) / m.raw
}

// place is where a time is.
func (m *meter) place(seconds float64) float64 { return m.thinner.middle(seconds * m.raw) }

func (m *meter) have() float64 { return float64(m.base) + float64(len(m.x)) }

// take measures the next samples.
func (m *meter) take(samples []float32) {
	m.samples += int64(len(samples))
	for _, v := range samples {
		if x, ok := m.thinner.add(float64(v)); ok {
			m.x = append(m.x, x)
			m.everything.add(x, 1)
			if m.chars == 0 {
				m.spectrum.add(x)
			}
		}
	}
	m.ear.Feed(samples)
	m.listen()
	m.forget()
}

// end measures what is left.
func (m *meter) end() {
	m.messages.until = float64(m.samples) / m.raw
	m.ear.End()
	m.listen()
	if c := &m.carrier; m.have()-c.off < ending*m.rate {
		c.off = math.NaN() // the waveform ends, and maybe not the carrier
	}
	m.closeCarrier()
	m.measureSilence(m.have())
	m.messages.end()
}

func (m *meter) listen() {
	var h fsk.Heard
	for m.ear.Next(&h) {
		switch {
		case h.Carrier > 0:
			m.carrierOn(m.place(h.At))
		case h.Carrier < 0:
			m.carrierOff(m.place(h.At))
		default:
			m.character(&h)
		}
	}
	if c := &m.carrier; c.active && c.off+margin*m.rate <= m.have() {
		m.closeCarrier()
	}
}

func (m *meter) carrierOn(at float64) {
	m.closeCarrier()
	m.measureSilence(at - apart*m.rate)
	m.carriers++
	m.carrier = carrier{active: true, on: at, since: at, off: math.NaN(), from: max(at-margin*m.rate, m.silentTo)}
}

func (m *meter) carrierOff(at float64) {
	if m.carrier.active {
		m.carrier.off = at
		m.messages.cut()
	}
}

// character takes a character. What overlaps the one before is of two that talk at once,
// and not measured.
func (m *meter) character(h *fsk.Heard) {
	if !(h.Bit > leastBit && h.Bit < mostBit) {
		h.Bit = 1 / fsk.BitRate
	}
	m.chars++
	m.messages.add(h)
	c := &m.carrier
	next := character{at: m.place(h.At), bit: h.Bit * m.rate, char: h.Char, mark: h.Mark}
	if !c.active { // whose beginning was not heard
		m.carriers++
		m.carrier = carrier{active: true, on: math.NaN(), since: math.NaN(), off: math.NaN(), from: max(next.at-2*next.bit, 0)}
	}
	if n := len(c.chars); n > 0 && next.at < c.chars[n-1].end()-next.bit/2 {
		return
	}
	if len(c.chars) > 0 && next.at-c.from > mostStretch*m.rate {
		m.measurePart(next.at)
	}
	c.chars = append(c.chars, next)
}

// forget lets go of samples that are not needed any more. A carrier on which nothing is
// said for long is measured as far as it goes.
func (m *meter) forget() {
	c := &m.carrier
	old := m.have() - history*m.rate
	keep := old - margin*m.rate
	if c.active {
		if n := len(c.chars); n > 0 && c.chars[n-1].end() < old-mostStretch*m.rate {
			m.measurePart(c.chars[n-1].end() + 2*c.chars[n-1].bit)
		}
		if len(c.chars) == 0 && c.from < keep {
			c.from, c.on = keep, math.NaN()
		}
		keep = min(keep, c.from)
	} else {
		m.measureSilence(old)
		keep = min(keep, m.silentTo)
	}
	if gone := int(keep) - int(m.base); gone > len(m.x)/2 {
		m.x = m.x[:copy(m.x, m.x[gone:])]
		m.base += int64(gone)
	}
}

// measurePart measures the characters of a carrier up to a place, where the next part
// begins.
func (m *meter) measurePart(to float64) {
	c := &m.carrier
	last := &c.chars[len(c.chars)-1]
	m.measure(to, math.NaN())
	c.from, c.on = min(last.end()-last.bit, to), math.NaN()
	c.chars = c.chars[:0]
}

// closeCarrier measures the rest of a carrier.
func (m *meter) closeCarrier() {
	c := &m.carrier
	if !c.active {
		return
	}
	end := m.have()
	if !math.IsNaN(c.off) {
		end = min(end, c.off+margin*m.rate)
		m.silentTo = c.off + apart*m.rate
	} else {
		m.silentTo = end
	}
	m.measure(end, c.off)
	m.messages.cut()
	m.messages.device, m.messages.master = false, false
	m.silent.cut()
	m.carrier = carrier{chars: c.chars[:0]}
}

// measure measures the characters that a carrier has so far.
func (m *meter) measure(to, off float64) {
	c := &m.carrier
	if len(c.chars) == 0 {
		return
	}
	first := max(int(c.from), int(m.base))
	behind := min(int(math.Ceil(to)), int(m.have()))
	if behind-first < characterBits {
		return
	}
	s := &stretch{rate: m.rate, base: float64(first), on: c.on - float64(first), off: off - float64(first)}
	s.x = append(s.x, m.x[first-int(m.base):behind-int(m.base)]...)
	for _, ch := range c.chars {
		ch.at -= float64(first)
		s.chars = append(s.chars, ch)
	}
	s.solve()
	if s.strength == 0 {
		return
	}
	if math.IsNaN(c.on) && !math.IsNaN(c.since) { // it went on long before
		m.lead.add((c.chars[0].at-c.since)/s.bit(), 1)
	}
	c.since = math.NaN()
	m.measured(s)
}

// measureSilence takes the samples up to a place for silence.
func (m *meter) measureSilence(to float64) {
	from, behind := max(int(m.silentTo), int(m.base)), min(int(to), int(m.have()))
	if behind <= from {
		return
	}
	for _, x := range m.x[from-int(m.base) : behind-int(m.base)] {
		m.silent.add(x)
	}
	m.silentTo = float64(behind)
}
