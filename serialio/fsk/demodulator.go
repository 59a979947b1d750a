package fsk

import "looptone/frame"

// Heard is what a demodulator makes of samples: a character, or a carrier that went on
// or off. Times are in seconds behind the first sample.
type Heard struct {
	At      float64 // edge of the start bit; where the carrier went on or off
	Known   float64 // samples until then were needed to know
	Bit     float64 // length of a bit
	Char    byte
	Mark    frame.Mark // Parity, Framing
	Carrier int8       // +1 on, -1 off; then there is no character
	Quality float32    // how far from any other character this one was: 1 as on a clean line, 0 where another is as likely
}

// A Demodulator finds characters in samples, whatever their level, their clock within
// reason, and what lies under them.
//
// All samples become 9600 a second, eight a bit, and lose what moves slowly. A carrier
// is heard when most of what is left is one tone. From there on it looks two or three
// characters ahead: for where characters begin, and for the bits that are the likeliest
// with all their phases, for those of a sender run on through all changes of tone.
type Demodulator struct {
	rate      float64
	resampler *resampler
	front     *front
	onset     *onset
	receiver  receiver
	take      func([]float64)
	survey    survey
	heard     []Heard
	taken     int
}

// NewDemodulator begins to hear, at so many samples a second, [LeastRate] or more.
func NewDemodulator(rate float64) *Demodulator {
	d := &Demodulator{rate: rate, resampler: newResampler(rate), front: newFront(), onset: newOnset()}
	d.receiver.front = d.front
	d.receiver.got = d.got
	d.take = d.inner
	return d
}

// LeastRate is the lowest rate of samples that carries both tones.
const LeastRate = 8000.0

// Feed hears the next samples.
func (d *Demodulator) Feed(samples []float32) { d.resampler.feed(samples, d.take) }

// End says that no more samples come.
func (d *Demodulator) End() {
	if n := d.front.n % cellsHeld; n > 0 {
		d.survey.look(d.front, int(n))
	}
	var rest float64
	for k := range int64(bit) {
		rest += float64(d.front.raw[(d.front.n-1-k)&(cellsHeld-1)]) / bit
	}
	for range 8 * charCells {
		d.hear([]float64{rest})
	}
}

// Told is what there was in place of characters, when there was none.
func (d *Demodulator) Told() string { return d.survey.String() }

// Next is the next thing that was heard, in the order of At.
func (d *Demodulator) Next(h *Heard) bool {
	if d.taken == len(d.heard) {
		d.heard, d.taken = d.heard[:0], 0
		return false
	}
	*h = d.heard[d.taken]
	d.taken++
	return true
}

func (d *Demodulator) got(h Heard) {
	h.Known = float64(d.front.n)/innerRate + float64(d.resampler.reach)/d.rate
	switch {
	case h.Carrier == 0:
		d.survey.chars++
	case h.Carrier > 0:
		d.survey.carriers++
	}
	d.heard = append(d.heard, h)
}

// inner takes samples of the inner rate. It looks at what they make every half bit, or
// every bit once there is a carrier, so that it makes no difference how they are divided.
func (d *Demodulator) inner(samples []float64) {
	for len(samples) > 0 {
		step := int64(bit / 2)
		if d.receiver.on && d.receiver.told {
			step = bit
		}
		n := min(len(samples), int(step-d.front.n%step))
		d.hear(samples[:n])
		samples = samples[n:]
		if d.front.n%cellsHeld == 0 {
			d.survey.look(d.front, cellsHeld)
		}
	}
}

func (d *Demodulator) hear(samples []float64) {
	d.front.feed(samples)
	n := d.front.n
	switch {
	case n%(bit/2) != 0:
	case d.receiver.on:
		if !d.receiver.told {
			if _, _, clean := d.onset.hears(d.front); clean {
				d.receiver.tell()
			}
		}
		if n%bit == 0 {
			d.receiver.work()
		}
	case n >= onsetSpan:
		if amplitude, heard, clean := d.onset.hears(d.front); heard {
			d.receiver.begin(d.onset.begin(d.front, amplitude), amplitude, clean)
		}
	}
}
