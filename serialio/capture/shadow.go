package capture

import "looptone/frame"

// A shadow is what a reader will make of a stream that is being written, as far as cuts
// are concerned: most of them it finds again by the times.
type shadow struct {
	stream
	begun bool
}

// begin begins a stream.
func (s *shadow) begin(rec *exported) {
	s.begun, s.late = true, rec.Late
	s.times = [...]timing{NoTimes: ofNothing, StartTimes: firstStart, EndTimes: lastEnd}[rec.timesTold()]
}

// news: behind a loss, or a change of the carrier, nothing continues.
func (s *shadow) news(carrier bool) { s.carrier, s.cut, s.end = carrier, s.pos > 0, Stamp{} }

// take takes characters, and counts the cuts and ends of lines that will not be found
// again.
func (s *shadow) take(rec *exported, lost *omissions) {
	if len(rec.Chars) == 0 {
		return
	}
	again := s.breaks(rec.Start)
	for _, m := range rec.marks {
		if m.Mark&(frame.Cut|frame.Line) != 0 && s.pos+m.Pos > 0 && (m.Pos > 0 || !again) {
			lost[lostCuts]++
		}
	}
	s.pos, s.cut, s.end = s.pos+int64(len(rec.Chars)), false, rec.End
}

// timesTold is what the record's times are of.
func (r *Record) timesTold() Times {
	if r.Times == NoTimes && r.Start.known {
		return StartTimes
	}
	return r.Times
}
