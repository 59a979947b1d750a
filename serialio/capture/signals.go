package capture

import (
	"fmt"
	"strings"
	"time"

	"looptone/frame"
)

// maxStreams is how many streams there can be: their number is a byte.
const maxStreams = 256

// signals are wires whose levels a capture has, on their way to records. A wire is a
// stream as soon as it has a character.
type signals struct {
	file     string
	inverted bool
	wires    []wire
	streams  int        // so far
	heard    []received // that are not records yet, in the order in which they ended
	taken    int        // of heard

	// The record that was handed on.
	char   [1]byte
	column [1]int64
	marks  [1]frame.MarkAt
}

type wire struct {
	name   string
	uart   *uart
	stream int // −1 as long as there is none
	faulty int // characters with a wrong parity or stop bit
	flow   succession
}

// received is a character of a wire.
type received struct {
	wire int
	pulse
}

// succession is how the characters of a stream follow each other, where the time of each
// is known.
type succession struct {
	pos int64
	end Stamp // of the last one
}

func newSignals(file string, names []string, inverted bool) *signals {
	s := &signals{file: file, inverted: inverted}
	for i, name := range names {
		got := func(p pulse) { s.heard = append(s.heard, received{i, p}) }
		s.wires = append(s.wires, wire{name: name, uart: newUART(got), stream: -1})
	}
	return s
}

// change takes over a level of wire i.
func (s *signals) change(i int, at time.Duration, to level, place Position) {
	if s.inverted && to != unknown {
		to = low + high - to
	}
	s.wires[i].uart.change(at, to, place)
}

// until takes over that all levels stay what they are until at.
func (s *signals) until(at time.Duration) {
	for i := range s.wires {
		s.wires[i].uart.until(at)
	}
}

func (s *signals) end() {
	for i := range s.wires {
		s.wires[i].uart.end()
	}
}

// next makes a record of the next character, if there is one.
func (s *signals) next(rec *Record) bool {
	if s.taken == len(s.heard) {
		s.heard, s.taken = s.heard[:0], 0
		return false
	}
	h := &s.heard[s.taken]
	s.taken++
	w := &s.wires[h.wire]
	if w.stream < 0 {
		w.stream = s.streams
		s.streams++
	}
	if h.marks != 0 {
		w.faulty++
	}
	start := After(h.begin)
	s.char[0], s.column[0] = h.char, h.place.Column
	marks := s.marks[:0]
	pos := w.flow.pos
	if w.flow.end.known && w.flow.end.since < h.rest { // a break lasts longer than a character
		w.flow.end = After(h.rest)
	}
	if mark := h.marks | w.flow.next(start, 0); mark != 0 {
		marks = append(marks, frame.MarkAt{Pos: pos, Mark: mark})
	}
	*rec = Record{Stream: uint8(w.stream), Name: w.name, Streams: len(s.wires), Start: start, End: start.plus(1),
		Parity: true, Chars: s.char[:], Marks: marks,
		Place: Place{File: s.file, Line: h.place.Line, Columns: s.column[:]}}
	return true
}

// next counts a character that begins at start, and is what stands before it. A time
// can be wrong by late.
func (f *succession) next(start Stamp, late time.Duration) (mark frame.Mark) {
	if f.pos > 0 && f.end.known && start.known {
		switch idle := start.since - f.end.since; {
		case idle > frame.Characters(silence)+late:
			mark = frame.Cut
		case idle > frame.Characters(1)+late:
			mark = frame.Gap
		}
	}
	f.pos++
	f.end = start.plus(1)
	return mark
}

// streamsOf is how many streams a capture has that has named so many of them: who names
// a direction knows of another one.
func streamsOf(so int, name string) int {
	if name != "" {
		return max(so, 2)
	}
	return so
}

// told says of which wires the levels look as if they were the other way round, and
// which have nothing to say.
func (s *signals) told() string {
	var upset, mute []string
	for i := range s.wires {
		switch w := &s.wires[i]; {
		case w.uart.lowFor > 4*w.uart.highFor && w.faulty*2 > int(w.flow.pos):
			upset = append(upset, w.name)
		case w.stream < 0:
			mute = append(mute, w.name)
		}
	}
	var said []string
	if len(upset) > 0 {
		how := "with"
		if s.inverted {
			how = "without"
		}
		said = append(said, fmt.Sprintf("%s: low most of the time, with wrong characters: levels may be upside down; try it %s --invert-levels", strings.Join(upset, ", "), how))
	}
	if len(mute) > 0 {
		said = append(said, strings.Join(mute, ", ")+": no character")
	}
	return strings.Join(said, "\n")
}
