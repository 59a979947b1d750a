package wave

import (
	"fmt"
	"math"
)

// even checks that times are even, as far as their digits can tell: no step back, no
// hole, and the same rate everywhere. Times that were printed with few digits are alike
// for several rows; so the rate is that of a long stretch.
type even struct {
	rate   float64
	period float64 // seconds
	unsure float64 // part of the rate that the digits of its stretch leave open
	digits         // the most of a time so far, as zeros at the end may be left out
	rows   int     // of the stretch that is being looked at
	begin  float64 // time of its first row
	last   float64
	begun  bool
}

const (
	mostDrift = 0.005 // part of the rate
	stretch   = 4096  // rows over which it is looked at
)

// see takes over how finely times are written.
func (e *even) see(r sampleRow) {
	e.places, e.significant = max(e.places, r.places), max(e.significant, r.significant)
}

// step is what the last digit of a time counts, which has either so many places or so
// many digits.
func (e *even) step(time float64) float64 {
	step := math.Pow10(-e.places)
	if time != 0 {
		step = max(step, math.Pow10(int(math.Floor(math.Log10(math.Abs(time))))+1-e.significant))
	}
	return step
}

// add checks the next row.
func (e *even) add(r sampleRow) error {
	e.see(r)
	if !e.begun {
		e.begin, e.last, e.begun = r.time, r.time, true
		return nil
	}
	since := r.time - e.last
	e.rows++
	switch {
	case since < 0:
		return fmt.Errorf("time falls from %.9g s to %.9g s: want the rows in the order of times", e.last, r.time)
	case since > 2*e.period && since > 2*e.period+e.step(r.time)+e.step(e.last):
		return fmt.Errorf("hole of %.4g s between two rows, which are usually %.4g s apart: want every sample", since, e.period)
	}
	if e.last = r.time; e.rows < stretch {
		return nil
	}
	took, want := r.time-e.begin, float64(e.rows)*e.period
	if math.Abs(took-want) > want*(mostDrift+e.unsure)+e.period+e.step(r.time)+e.step(e.begin) {
		return fmt.Errorf("%.5g samples a second in the last %d rows, and %.5g at the beginning: want one rate", float64(e.rows)/took, e.rows, e.rate)
	}
	e.begin, e.rows = r.time, 0
	return nil
}

// evenOf is what the times of the first rows say: their rate, without the largest step
// if that is a hole.
func evenOf(rows []sampleRow) (e even) {
	first, last := rows[0].time, rows[len(rows)-1].time
	long, steps := last-first, float64(len(rows)-1)
	hole, at := 0.0, 0.0
	e.see(rows[0])
	for i := 1; i < len(rows); i++ {
		e.see(rows[i])
		if since := rows[i].time - rows[i-1].time; since > hole {
			hole, at = since, rows[i].time
		}
	}
	if steps > 1 && hole > 2*long/steps+2*e.step(at) {
		long, steps = long-hole, steps-1
	}
	e.unsure = max((e.step(first)+e.step(last))/long, 1e-9)
	e.rate = plainRate(steps/long, e.unsure)
	e.period = 1 / e.rate
	return e
}

// plainRate is the rate that takes the fewest digits to say, or its period does, no
// further from a rate than the part that is open.
func plainRate(rate, unsure float64) float64 {
	if !(rate > 0) || math.IsInf(rate, 0) || unsure > 0.01 {
		return rate
	}
	rounded, digits := plain(rate, unsure)
	if period, fewer := plain(1/rate, unsure); fewer < digits {
		return 1 / period
	}
	return rounded
}

// plain is the number with the fewest digits that is near enough to another.
func plain(number, unsure float64) (near float64, digits int) {
	const enough = 12
	power := int(math.Ceil(math.Log10(number)))
	for digits = 1; digits < enough; digits++ {
		scale := math.Pow10(digits - power)
		if near = math.Round(number*scale) / scale; math.Abs(near-number) <= number*unsure {
			return near, digits
		}
	}
	return number, enough
}
