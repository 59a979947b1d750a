package modemcheck

import (
	"math/rand/v2"
	"time"

	"looptone/frame"
)

// The preambles of a frame.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.2.
const (
	FewestPreambles = 5
	MostPreambles   = 20
)

// The pause before a message that is spaced, in characters: longer than a port is late,
// so that it is seen, and shorter than any master waits.
const (
	leastPause = 8
	mostPause  = 24
)

// nobody is the device that the messages of a plan are addressed to. Its type is none
// that the standard gives to a maker.
//
// Source: from memory (the codes that are given).
var nobody = frame.Unique(0x3ffe, 0xfffffe)

// A Message is one of a plan.
type Message struct {
	From      int // the end that sends it, 0 or 1
	Preambles int
	Frame     []byte // delimiter to check byte
	Pause     int    // silence before it, in characters; 0: as soon as it may be
}

// Chars is what goes over the line.
func (m *Message) Chars() []byte {
	return append(frame.AppendPreambles(nil, m.Preambles), m.Frame...)
}

// Plan makes n messages that follow from a seed: requests that no device answers, of all
// lengths from 0 to 255 data bytes, all counts of preambles and all values of a byte, as
// far as n messages can hold them; half of them spaced, half back to back. With two ends,
// now the one and now the other sends.
func Plan(seed uint64, n, ends int) []Message { return PlanTo(seed, n, ends, nobody) }

// PlanTo makes the messages of [Plan] for other devices, each for the next of them.
func PlanTo(seed uint64, n, ends int, to ...frame.Address) []Message {
	d := newDraw(seed)
	lengths, preambles := d.spread(n, frame.MaxCount+1), d.spread(n, MostPreambles-FewestPreambles+1)
	plan := make([]Message, n)
	for i := range plan {
		plan[i] = Message{
			From:      d.end(ends),
			Preambles: FewestPreambles + preambles[i],
			Frame:     request(to[i%len(to)], d.bytes(lengths[i])),
			Pause:     d.pause(),
		}
	}
	return plan
}

// request asks a device who it is, with data that it has no use for.
func request(to frame.Address, data []byte) []byte {
	f := frame.Frame{Kind: frame.STX, Address: to, Primary: true, Data: data}
	b, err := f.AppendBinary(nil)
	if err != nil {
		panic(err) // a count that does not fit
	}
	return b
}

// Duration is about how long a plan takes, with characters of that length.
func Duration(plan []Message, character time.Duration) time.Duration {
	n := 0
	for i := range plan {
		n += plan[i].Preambles + len(plan[i].Frame) + plan[i].Pause
	}
	return time.Duration(n) * character
}

// A draw makes the choices of a plan.
type draw struct {
	*rand.Rand
	deck []int // byte values that have not had their turn
}

func newDraw(seed uint64) *draw {
	return &draw{Rand: rand.New(rand.NewPCG(seed, 0x6d6f64656d))}
}

func (d *draw) end(ends int) int { return d.IntN(ends) }

func (d *draw) pause() int {
	if d.IntN(2) == 0 {
		return 0
	}
	return leastPause + d.IntN(mostPause-leastPause+1)
}

// spread is n numbers below most, in any order, from 0 to most-1 and evenly between.
func (d *draw) spread(n, most int) []int {
	all := make([]int, n)
	for i, at := range d.Perm(n) {
		switch {
		case n >= most:
			all[at] = i % most
		case n > 1:
			all[at] = i * (most - 1) / (n - 1)
		default:
			all[at] = most / 2
		}
	}
	return all
}

// bytes is n bytes; no value comes again before all others had their turn.
func (d *draw) bytes(n int) []byte {
	b := make([]byte, n)
	for i := range b {
		if len(d.deck) == 0 {
			d.deck = d.Perm(256)
		}
		b[i] = byte(d.deck[0])
		d.deck = d.deck[1:]
	}
	return b
}
