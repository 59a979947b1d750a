package measure

import (
	"io"
	"math"
	"math/bits"
	"math/rand/v2"

	"looptone/frame"
	"looptone/serialio/fsk"
)

// A signal is a waveform by its formula: the phase goes on at one speed from edge to edge,
// so every sample is exact, whatever the rate. Nothing of it comes from the modulator of
// package fsk.
type signal struct {
	rate      float64
	carriers  []sent
	end       float64 // seconds
	peaks     float64 // amplitude of both tones, peak to peak
	spaces    float64 // of the space, where it is another one
	mark      float64 // Hz; 1200 where it is 0
	space     float64
	bitRate   float64
	jump      float64 // degrees at every edge, now ahead, now back
	jitter    float64 // of an edge, in bits, rms
	rise      float64 // seconds of a straight rise
	dc        float64
	sway      float64 // amplitude of a movement of 25 Hz
	noise     float64 // standard deviation
	heardLate float64 // bits by which the ear is wrong about where characters are
}

// A sent carrier has characters, with so many bits between them and around them.
type sent struct {
	at, lead, tail float64 // seconds, bits, bits
	chars          []byte
	pause          map[int]float64 // bits before a character
	wrongParity    int             // of the character with that number, from 1
}

func or(x, usual float64) float64 {
	if x == 0 {
		return usual
	}
	return x
}

// A piece is a time with one tone, or with none.
type piece struct {
	from     float64
	hz, size float64
	phase    float64 // at from
}

func (g *signal) pieces() (all []piece, heard []fsk.Heard) {
	random := rand.New(rand.NewPCG(7, 7))
	bit := 1 / or(g.bitRate, fsk.BitRate)
	hz := [2]float64{or(g.space, fsk.SpaceHz), or(g.mark, fsk.MarkHz)}
	size := [2]float64{or(g.spaces, g.peaks) / 2, g.peaks / 2}
	ahead := 1.0
	for _, c := range g.carriers {
		all = append(all, piece{from: c.at, hz: hz[1], size: size[1]})
		heard = append(heard, fsk.Heard{At: c.at + 2*bit, Known: c.at + 5*bit, Carrier: 1})
		at, last := c.at+c.lead*bit, uint(1)
		for i, ch := range c.chars {
			at += c.pause[i] * bit
			parity := 1 &^ uint(bits.OnesCount8(ch))
			h := fsk.Heard{At: at + g.heardLate*bit*ahead, Known: at + 30*bit, Bit: bit, Char: ch}
			if c.wrongParity == i+1 {
				parity ^= 1
				h.Mark = frame.Parity
			}
			heard = append(heard, h)
			line := uint(ch)<<1 | parity<<9 | 1<<10
			for k := range 11 {
				now := line >> k & 1
				if now != last {
					before := &all[len(all)-1]
					edge := at + (float64(k)+g.jitter*random.NormFloat64())*bit
					phase := before.phase + 2*math.Pi*before.hz*(edge-before.from) + ahead*g.jump/180*math.Pi
					all = append(all, piece{edge, hz[now], size[now], phase})
					ahead = -ahead
				}
				last = now
			}
			at += 11 * bit
		}
		off := at + c.tail*bit
		all = append(all, piece{from: off})
		heard = append(heard, fsk.Heard{At: off, Known: off + 3*bit, Carrier: -1})
	}
	return all, heard
}

func (g *signal) samples() (x []float32, heard []fsk.Heard) {
	all, heard := g.pieces()
	random := rand.New(rand.NewPCG(1, 2))
	x = make([]float32, int(g.end*g.rate))
	i, began := -1, 0.0
	for n := range x {
		t := float64(n) / g.rate
		for i+1 < len(all) && all[i+1].from <= t {
			i++
			if i == 0 || all[i-1].hz == 0 {
				began = all[i].from
			}
		}
		v := g.dc + g.sway/2*math.Sin(2*math.Pi*25*t) + g.noise*random.NormFloat64()
		if i >= 0 {
			p := all[i]
			size := p.size
			if g.rise > 0 {
				size *= min(1, (t-began)/g.rise)
			}
			v += size * math.Cos(p.phase+2*math.Pi*p.hz*(t-p.from))
		}
		x[n] = float32(v)
	}
	return x, heard
}

// A tape plays samples.
type tape struct {
	rate float64
	x    []float32
}

func (t *tape) Rate() float64 { return t.rate }

func (t *tape) Read(dst []float32) (n int, err error) {
	n = copy(dst, t.x)
	t.x = t.x[n:]
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

// A prompt is an ear that was told what it is going to hear, so that what is measured here
// is measuring alone.
type prompt struct {
	heard []fsk.Heard
	now   float64
	rate  float64
}

func (p *prompt) Feed(x []float32) { p.now += float64(len(x)) / p.rate }
func (p *prompt) End()             { p.now = math.Inf(1) }

func (p *prompt) Next(h *fsk.Heard) bool {
	if len(p.heard) == 0 || p.heard[0].Known > p.now {
		return false
	}
	*h, p.heard = p.heard[0], p.heard[1:]
	return true
}

// request is a message with five preambles: command 1 to polling address 0 with its check
// byte.
//
// Source: Buerkert, Type 8605 description of communication, p.16, and three preambles.
var request = []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0x02, 0x80, 0x01, 0x00, 0x83}

// reply is the one that belongs to it, from the same page.
var reply = []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0x06, 0x80, 0x01, 0x07, 0x00, 0x00, 0x39, 0x41, 0xc8, 0x00, 0x00, 0x30}

// turn is a request and its reply, 25 ms behind it.
func turn() *signal {
	bit := 1 / fsk.BitRate
	first := sent{at: 0.1 + 1/math.Pi/1e4, lead: 3, tail: 2, chars: request}
	end := first.at + (3+110)*bit
	second := sent{at: end + 0.025 - 3*bit, lead: 3, tail: 2, chars: reply}
	return &signal{rate: 48000, peaks: 0.5, carriers: []sent{first, second}, end: 0.6}
}
