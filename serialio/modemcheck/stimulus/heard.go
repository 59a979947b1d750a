package stimulus

import (
	"time"

	"looptone/frame"
	"looptone/serialio/capture"
)

// Heard is what a modem has put out, as a capture tells it.
type Heard struct {
	Name   string // of the capture
	chars  []heardChar
	edges  []carrierEdge
	timed  bool          // the time of every character is known
	late   time.Duration // by which times may be late
	parity bool          // wrong parity and stop bits would show
}

// A heardChar is a character that was heard.
type heardChar struct {
	value byte
	mark  frame.Mark
	end   time.Duration // of its stop bit, where that is known
	part  int           // number of the recording: times of two have nothing to do with each other
}

// A carrierEdge is where a carrier went on (1) or off (-1).
type carrierEdge struct {
	at     time.Duration
	timed  bool
	way    int8
	behind int // so many characters
}

// TellsCarrier reports whether the capture tells of carriers.
func (h *Heard) TellsCarrier() bool { return len(h.edges) > 0 }

// Take adds a record.
func (h *Heard) Take(r *capture.Record) {
	n := len(h.chars)
	if n == 0 && len(h.edges) == 0 {
		h.timed, h.parity = true, true
	}
	part := 0
	if n > 0 {
		part = h.chars[n-1].part
	}
	if r.Resumed {
		part++
	}
	start, timed := r.Start.Since()
	end, known := r.End.Since()
	if r.Carrier != 0 {
		h.edges = append(h.edges, carrierEdge{at: max(start, end), timed: timed || known, way: r.Carrier, behind: n})
	}
	if len(r.Chars) == 0 {
		return
	}
	h.timed = h.timed && (timed || known)
	h.parity = h.parity && r.Parity
	h.late = max(h.late, r.Late)
	for i, value := range r.Chars {
		at := start + frame.Characters(int64(i+1))
		if r.Times == capture.EndTimes || !timed {
			at = end - frame.Characters(int64(len(r.Chars)-1-i))
		}
		h.chars = append(h.chars, heardChar{value: value, end: at, part: part})
	}
	for _, m := range r.Marks {
		if k := m.Pos - int64(n); k >= 0 && k < int64(len(r.Chars)) {
			h.chars[n+int(k)].mark |= m.Mark & (frame.Parity | frame.Framing)
		}
	}
}

// wholeFrames is how many there are in it, whatever they are.
func (h *Heard) wholeFrames() (n int) {
	var d frame.Decoder
	var event frame.Event
	chars := make([]byte, len(h.chars))
	for i := range h.chars {
		chars[i] = h.chars[i].value
	}
	d.Feed(chars, nil)
	d.End()
	for d.Next(&event) {
		if event.Outcome == frame.Whole {
			n++
		}
	}
	return n
}
