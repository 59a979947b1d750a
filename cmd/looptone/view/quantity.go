package view

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"looptone/serialio/fsk/measure"
)

// A quantity is something that was measured of a waveform, in a unit for people.
type quantity struct {
	name, unit string
	measure.Spread
	decimals int
}

// quantitiesOf are all that were measured, in the order in which they are shown.
func quantitiesOf(r *measure.Report) (all []quantity) {
	add := func(name, unit string, s measure.Spread, factor float64, decimals int) {
		if s.N == 0 {
			return
		}
		s.Mean, s.SD, s.Least, s.Most = s.Mean*factor, s.SD*factor, s.Least*factor, s.Most*factor
		all = append(all, quantity{name, unit, s, decimals})
	}
	add("mark", "Hz", r.Mark.Hz, 1, 2)
	add("space", "Hz", r.Space.Hz, 1, 2)
	add("bit rate", "bit/s", r.BitRate, 1, 2)
	unit, factor, decimals := "units", 1.0, 5
	if v, ok := r.Volts(1); ok {
		unit, factor, decimals = "mV", v*1000, 1
	}
	add("mark, peak to peak", unit, r.Mark.Amplitude, factor, decimals)
	add("space, peak to peak", unit, r.Space.Amplitude, factor, decimals)
	add("level under the tones", unit, r.Under, factor, decimals)
	if mA, ok := r.Milliamperes(1); ok {
		add("mark, peak to peak", "mA", r.Mark.Amplitude, mA, 4)
		add("space, peak to peak", "mA", r.Space.Amplitude, mA, 4)
		add("level under the tones", "mA", r.Under, mA, 3)
	}
	add("carrier on before the start bit", "bits", r.Lead, 1, 2)
	add("carrier off behind the stop bit", "bits", r.Tail, 1, 2)
	add("rise", "bits", r.Rise, 1, 2)
	add("decay", "bits", r.Decay, 1, 2)
	add("isochronous distortion", "%", r.Edges.Isochronal, 100, 2)
	add("preambles", "", r.Messages.Preambles, 1, 0)
	add("response time", "ms", r.Messages.Response, 1000, 2)
	return all
}

// number is a number of the quantity.
func (q *quantity) number(x float64) string {
	digits := strconv.FormatFloat(x, 'f', q.decimals, 64)
	if strings.Trim(digits, "-0.") == "" {
		return strings.TrimPrefix(digits, "-") // people read no -0.0
	}
	return digits
}

// digest is a quantity in a few words.
func (q *quantity) digest() string {
	said := strings.TrimSuffix(q.number(q.Mean)+" "+q.unit, " ")
	if q.Least != q.Most && q.number(q.Least) != q.number(q.Most) {
		said += fmt.Sprintf(", %s to %s", q.number(q.Least), q.number(q.Most))
	}
	return said
}

// A noisePart is a part of what is beside the tones.
type noisePart struct {
	name            string
	silent, talking float64 // NaN where there is none
}

// noiseOf are the parts, in the unit that is said.
func noiseOf(r *measure.Report) (unit string, all []noisePart) {
	unit, factor := "units", 1.0
	if v, ok := r.Volts(1); ok {
		unit, factor = "mV", v*1000
	}
	of := func(n *measure.Noise, x float64, there bool) float64 {
		if n.Seconds == 0 || !there {
			return math.NaN()
		}
		return x * factor
	}
	s, t := &r.Silent, &r.Talking
	return unit, []noisePart{
		{"40 Hz to 500 Hz", of(s, s.Below, true), of(t, t.Below, true)},
		{"500 Hz to 10 kHz", of(s, s.In, true), of(t, t.In, true)},
		{"above 10 kHz", of(s, s.Above, s.HasTop), of(t, t.Above, t.HasTop)},
	}
}
