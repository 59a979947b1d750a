package main

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"looptone/frame"
	"looptone/serialio/fsk"
	"looptone/sim"
)

// A collision is two messages that overlap on the line, both from random characters.
type collision struct{ strong, weak *sim.Burst }

// collide makes one at random: the weaker one so many dB below the other.
func collide(dice *rand.Rand, db float64) collision {
	burst := func(level float64) *sim.Burst {
		b := &sim.Burst{Lead: sim.CarrierLead, Tail: sim.CarrierTail, PPM: int32(dice.IntN(1001) - 500), Level: float32(level)}
		b.Chars = frame.AppendPreambles(nil, 5)
		for range 10 + dice.IntN(20) {
			b.Chars = append(b.Chars, byte(dice.Uint32()))
		}
		return b
	}
	c := collision{burst(sim.NominalLevel), burst(sim.NominalLevel * math.Pow(10, -db/20))}
	first, second := c.strong, c.weak
	if dice.IntN(2) == 0 {
		first, second = second, first
	}
	first.At = sim.Second / 10
	second.At = first.At + sim.Tick(dice.Int64N(int64(first.Off()-first.At)))
	return c
}

// off is when both are over.
func (c collision) off() sim.Tick { return max(c.strong.Off(), c.weak.Off()) }

// A tally counts characters that were sent while another carrier was on, and those of
// them that were not received as they were sent.
type tally struct{ sent, wrong int }

func (t tally) rate() float64 { return float64(t.wrong) / float64(t.sent) }

// count counts those of one message among the characters that were received: right is
// one with its value, its marks and its place, to half a bit.
func (t *tally) count(b, other *sim.Burst, received []sim.Char) {
	for i, c := range b.Chars {
		if b.End(i) <= other.At || b.Start(i) >= other.Off() {
			continue
		}
		t.sent++
		for len(received) > 0 && received[0].Start < b.Start(i)-sim.Bit/2 {
			received = received[1:]
		}
		if len(received) == 0 || received[0].Start > b.Start(i)+sim.Bit/2 || received[0].Value != c || received[0].Mark&(frame.Parity|frame.Framing) != 0 {
			t.wrong++
		}
	}
}

// An ear notes the characters that a port hears.
type ear struct{ chars []sim.Char }

func (*ear) Step(sim.Tick, []sim.Heard) (*sim.Burst, sim.Tick) { return nil, sim.Never }

func (e *ear) Expect(now sim.Tick, chars []sim.Char, _ sim.Tick) {
	for len(e.chars) > 0 && e.chars[len(e.chars)-1].End > now {
		e.chars = e.chars[:len(e.chars)-1]
	}
	e.chars = append(e.chars, chars...)
}

// A speaker sends one burst.
type speaker struct{ burst *sim.Burst }

func (s *speaker) Step(now sim.Tick, _ []sim.Heard) (b *sim.Burst, wake sim.Tick) {
	if s.burst != nil && now < s.burst.At {
		return nil, s.burst.At
	}
	b, s.burst = s.burst, nil
	return b, sim.Never
}

// heard is what a port hears of a collision on a line, and the waveform of it.
func (c collision) heard(seed uint64) ([]sim.Char, []float32) {
	line, ear := sim.NewLine(seed), &ear{}
	line.Join(ear)
	seats := [2]*sim.Seat{line.Join(&speaker{c.strong}), line.Join(&speaker{c.weak})}
	line.Run(c.off() + sim.Second)
	return ear.chars, c.rendered(line, seats)
}

// rendered is the collision as a waveform: what a line is rendered as.
func (c collision) rendered(line *sim.Line, seats [2]*sim.Seat) []float32 {
	mixer := fsk.NewMixer(plainRate)
	for i, b := range [...]*sim.Burst{c.strong, c.weak} {
		carrier := carrierOf(b)
		carrier.Voice.Amplitude, carrier.Voice.Phase = float64(b.Level), line.Phase(seats[i], b)
		mixer.Send(carrier)
	}
	samples := make([]float32, int((c.off().Seconds()+0.1)*plainRate))
	mixer.Read(samples)
	return samples
}

const (
	plainRate = 48000.0
	plainBit  = 40 // samples
)

// plainReceiver is a receiver as it is built into modem chips, as simple as it can be:
// bit by bit, by which tone is the stronger one over the time of a bit, without a memory
// of the phase, and a UART behind it that goes by the edge of each start bit.
func plainReceiver(samples []float32) (heard []sim.Char) {
	space := plainTones(samples)
	edge := func(i int) sim.Tick { // of what is in the middle of the bit that ends at i
		return sim.Tick(float64(i+1-plainBit/2) / plainRate * float64(sim.Second))
	}
	for i := 1; i+11*plainBit < len(samples); i++ {
		if !space[i] || space[i-1] {
			continue
		}
		bit := func(n int) bool { return !space[i+plainBit/2+n*plainBit-1] }
		if bit(0) {
			continue // no start bit, it was too short
		}
		c := sim.Char{Start: edge(i)}
		ones := 0
		for n := range 8 {
			if bit(1 + n) {
				c.Value |= 1 << n
				ones++
			}
		}
		if bit(9) != (ones%2 == 0) {
			c.Mark |= frame.Parity
		}
		if !bit(10) {
			c.Mark |= frame.Framing
		}
		heard = append(heard, c)
		i += plainBit/2 + 10*plainBit - 1
	}
	return heard
}

// plainTones tells for every sample whether the tone of a 0 was the stronger one over the
// time of a bit up to it. Where there is no tone there is no 0.
func plainTones(samples []float32) []bool {
	mark, space := newCorrelator(1200), newCorrelator(2200)
	is := make([]bool, len(samples))
	const silence = 1e-3 // of a tone of 1 V peak
	for i := range samples {
		m, s := mark.next(samples, i), space.next(samples, i)
		is[i] = s > m && s > silence*silence
	}
	return is
}

// A correlator is the energy of one tone over the time of a bit, sample by sample.
type correlator struct {
	table    []complex128 // of the tone, over 1/200 s: whole periods of both
	now      complex128
	products [plainBit]complex128
}

func newCorrelator(hz float64) *correlator {
	c := &correlator{table: make([]complex128, plainRate/200)}
	for i := range c.table {
		sin, cos := math.Sincos(2 * math.Pi * hz * float64(i) / plainRate)
		c.table[i] = complex(cos, -sin) / plainBit
	}
	return c
}

func (c *correlator) next(samples []float32, i int) float64 {
	p := complex(float64(samples[i]), 0) * c.table[i%len(c.table)]
	c.now += p - c.products[i%plainBit]
	c.products[i%plainBit] = p
	return real(c.now)*real(c.now) + imag(c.now)*imag(c.now)
}

// levelsApart are the differences in level, in dB, at which line and waveform are compared.
var levelsApart = []float64{0, 1, 2, 3, 4, 6, 9, 12}

// losses are what is lost of the stronger and of the weaker message of collisions.
type losses [2]tally

func (e *losses) count(c collision, received []sim.Char) {
	e[0].count(c.strong, c.weak, received)
	e[1].count(c.weak, c.strong, received)
}

// crashes are what came of many collisions, so many dB apart: what was lost on the line,
// to a plain receiver of the waveform and to the demodulator; unlike are the characters of
// line or plain receiver that the other does not have.
type crashes struct {
	line, plain, demodulator losses
	unlike                   tally
}

func collideOften(db float64, times int) (all crashes) {
	dice := rand.New(rand.NewPCG(7, uint64(db)))
	for n := range times {
		c := collide(dice, db)
		onLine, samples := c.heard(uint64(n))
		received := plainReceiver(samples)
		all.line.count(c, onLine)
		all.plain.count(c, received)
		all.demodulator.count(c, demodulated(samples))
		all.unlike.compare(onLine, received)
		all.unlike.compare(received, onLine)
	}
	return all
}

// demodulated is what the demodulator makes of a waveform.
func demodulated(samples []float32) (heard []sim.Char) {
	d := fsk.NewDemodulator(plainRate)
	var h fsk.Heard
	d.Feed(samples)
	d.End()
	for d.Next(&h) {
		if h.Carrier == 0 {
			heard = append(heard, sim.Char{Value: h.Char, Mark: h.Mark, Start: sim.Tick(h.At * float64(sim.Second))})
		}
	}
	return heard
}

// compare counts characters that are not among others at their place.
func (t *tally) compare(chars, others []sim.Char) {
	for _, c := range chars {
		t.sent++
		for len(others) > 0 && others[0].Start < c.Start-sim.Bit/2 {
			others = others[1:]
		}
		if len(others) == 0 || others[0].Start > c.Start+sim.Bit/2 || others[0].Value != c.Value || (others[0].Mark^c.Mark)&^frame.Gap != 0 {
			t.wrong++
		}
	}
}

// What a line makes of two carriers at once is what receivers make of the waveform that it
// is rendered as: of the stronger and of the weaker message as many characters are lost,
// within a factor of two, to a plain receiver, and to the demodulator too, although that
// goes by the phase. To the plain one nearly all that are heard are the same ones.
func TestNoiseCollisions(t *testing.T) {
	const times = 100
	for _, db := range levelsApart {
		all := collideOften(db, times)
		for receiver, lost := range map[string]losses{"a plain receiver": all.plain, "the demodulator": all.demodulator} {
			for i, which := range []string{"stronger", "weaker"} {
				one, other, sent := all.line[i].wrong, lost[i].wrong, lost[i].sent
				if few := 5; one > 2*other+few || other > 2*one+few || sent < 10*times || sent != all.line[i].sent {
					t.Errorf("%g dB, the %s message: the line loses %d characters, %s of the waveform %d of %d; want no more than twice as many",
						db, which, one, receiver, other, sent)
				}
			}
		}
		if most := max(0.3*math.Exp2(-db), 0.02); all.unlike.rate() > most {
			t.Errorf("%g dB: %d of %d characters are heard of one only, want %.0f %% at the most", db, all.unlike.wrong, all.unlike.sent, 100*most)
		}
	}
}

// BenchmarkCollisions prints which part of the characters of two messages at once is lost
// on the line, to a plain receiver of its waveform, and to the demodulator.
func BenchmarkCollisions(b *testing.B) {
	for _, db := range levelsApart {
		b.Run(strconv.FormatFloat(db, 'g', -1, 64)+"dB", func(b *testing.B) {
			var all crashes
			for b.Loop() {
				all = collideOften(db, 400)
			}
			for i, which := range []string{"stronger", "weaker"} {
				b.ReportMetric(all.line[i].rate(), which+"/line")
				b.ReportMetric(all.plain[i].rate(), which+"/plain")
				b.ReportMetric(all.demodulator[i].rate(), which+"/demodulator")
			}
		})
	}
}
