package capture

import (
	"time"

	"looptone/frame"
)

// A Live makes records of what ports hand on, as it comes: those that a reader of the
// file would make in which it is recorded, and one more where a stream falls silent, so
// that nobody waits for the next character to hear that a message is over.
type Live struct {
	started time.Time
	from    []Stream
	streams []*stream
	silent  []bool // by stream: that is told already
	marks   []frame.MarkAt
}

// NewLive begins at the time that started tells, with all streams; their times are
// [EndTimes].
func NewLive(started time.Time, streams []Stream) *Live {
	l := &Live{started: started, from: streams}
	for _, s := range streams {
		l.streams = append(l.streams, &stream{times: lastEnd, late: s.Late})
		l.silent = append(l.silent, true)
	}
	return l
}

// Heard fills in what came in of a stream. The record shares the characters of a.
func (l *Live) Heard(number uint8, a *frame.Arrival, rec *Record) {
	s := l.record(number, a.At, rec)
	l.silent[number] = false
	if a.Carrier != 0 {
		s.carrier = a.Carrier > 0
		rec.Carrier = a.Carrier
		rec.Marks = s.cutMark(nil)
		return
	}
	since, _ := rec.End.Since()
	n := int64(len(a.Chars))
	rec.Start, rec.End = s.span(since, n)
	l.marks = l.marks[:0]
	for _, m := range a.Marks {
		l.marks = append(l.marks, frame.MarkAt{Pos: s.pos + m.Pos, Mark: m.Mark})
	}
	if s.breaks(rec.Start) {
		l.marks = s.cutMark(l.marks)
	}
	rec.Chars, rec.Marks = a.Chars, l.marks
	rec.Place = Place{File: l.from[number].Name, Byte: s.pos}
	s.pos, s.end = s.pos+n, rec.End
}

// Silence fills in that nothing is heard of a stream at a moment. It reports whether
// that is so for so long already that a message is over.
func (l *Live) Silence(number uint8, at time.Time, rec *Record) bool {
	s := l.streams[number]
	if s.carrier || s.end.known && at.Sub(l.started)-s.end.since < frame.Characters(silence)+s.late {
		return false
	}
	if l.record(number, at, rec); !l.silent[number] {
		l.silent[number] = true
		rec.Marks = s.cutMark(nil)
	}
	return true
}

// Resumed fills in that a stream is heard again, that was not for a while.
func (l *Live) Resumed(number uint8, at time.Time, rec *Record) {
	s := l.record(number, at, rec)
	s.carrier = false
	rec.Resumed = true
	rec.Marks = s.cutMark(nil)
}

// record fills in what every record of a stream has, and one moment.
func (l *Live) record(number uint8, at time.Time, rec *Record) *stream {
	from := &l.from[number]
	now := After(at.Sub(l.started))
	*rec = Record{
		Stream: number, Name: from.Name, Streams: len(l.from), Start: now, End: now,
		Late: from.Late, Parity: from.Parity, Via: from.Via, Origin: l.started,
	}
	return l.streams[number]
}
