package capture

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"looptone/frame"
)

// timing is what the time in front of the characters of a line is of.
type timing uint8

const (
	untold     timing = iota
	firstStart        // the first one's start bit
	lastEnd           // the last one's stop bit
	ofNothing         // only the order counts
)

// told is which of two moments a time is of.
func (t timing) told() Times {
	switch t {
	case firstStart:
		return StartTimes
	case lastEnd:
		return EndTimes
	}
	return NoTimes
}

// stream is one direction of a capture file, as a section describes it.
type stream struct {
	name     string
	pos      int64 // characters so far, of all sections
	times    timing
	late     time.Duration // by which a time can lie behind what it is of
	parity   bool          // it would be seen
	via      Via
	at       Stamp // of the last line with a time
	end      Stamp // of the last character; unknown behind a Cut
	cut      bool  // characters may be missing behind that
	carrier  bool  // it is on, as the file tells
	reported bool  // that it is not described
}

// Via is how what a stream heard came to whoever recorded it.
type Via uint8

const (
	Unknown Via = iota
	Wire        // from the talker's UART: as it was sent, character by character
	Modem       // through a modem, which may swallow preambles and mishear characters
	Pipe        // through a pty or TCP: as it was sent, but maybe a whole message at once
)

var vias = [...]string{Unknown: "", Wire: "wire", Modem: "modem", Pipe: "pipe"}

// silence is how long nothing is heard, beyond what the times are late by, when a
// message is over.
//
// Source: common practice.
const silence = 5 // characters

func (r *fileReader) stream(n uint8) *stream {
	if r.streams[n] == nil {
		r.streams[n] = new(stream)
		r.known = append(r.known, r.streams[n])
	}
	return r.streams[n]
}

// describe reads one thing that is told of a stream.
func (s *stream) describe(pair string) error {
	switch key, value, _ := strings.Cut(pair, "="); key {
	case "times":
		switch value {
		case "start":
			s.times = firstStart
		case "end":
			s.times = lastEnd
		case "none":
			s.times = ofNothing
		default:
			return fmt.Errorf("times=%s, want start, end or none", value)
		}
	case "parity":
		if value != "visible" && value != "hidden" {
			return fmt.Errorf("parity=%s, want visible or hidden", value)
		}
		s.parity = value == "visible"
	case "via":
		via := slices.Index(vias[1:], value)
		if via < 0 {
			return fmt.Errorf("via=%s, want wire, modem or pipe", value)
		}
		s.via = Via(via + 1)
	case "late":
		late, n := seconds([]byte(value))
		if n == 0 || n < len(value) {
			return fmt.Errorf("late=%s, want seconds, for instance 0.016", value)
		}
		s.late = late
	default:
		return fmt.Errorf("%q is not known, want times, late, parity or via", pair)
	}
	return nil
}

// span is when n characters were on the line that stand behind a time.
func (s *stream) span(at time.Duration, n int64) (start, end Stamp) {
	switch s.times {
	case firstStart:
		return After(at), After(at).plus(n)
	case lastEnd:
		return After(at).plus(-n), After(at)
	}
	return Stamp{}, Stamp{}
}

// breaks reports whether what begins at start does not continue what was heard
// before.
func (s *stream) breaks(start Stamp) bool {
	return s.cut || !s.carrier && s.end.known && start.known && start.since-s.end.since > frame.Characters(silence)+s.late
}

// cutMark puts a mark in front of the next character. The start of a stream needs
// none.
func (s *stream) cutMark(marks []frame.MarkAt) []frame.MarkAt {
	s.cut, s.end = false, Stamp{}
	if s.pos == 0 {
		return marks
	}
	return slices.Insert(marks, 0, frame.MarkAt{Pos: s.pos, Mark: frame.Cut})
}
