package capture

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// fileExport writes a capture file.
type fileExport struct {
	to    io.Writer
	w     *Writer
	shift time.Duration // where this recording begins
	last  time.Duration // the latest time so far, as a reader counts it

	streams [mostStreams]shadow
}

func (e *fileExport) record(rec *exported, lost *omissions) (err error) {
	if rec.resumed && e.w != nil {
		err = e.w.End()
		e.w, e.shift, e.streams = nil, e.last, [mostStreams]shadow{}
	}
	if err == nil && e.w == nil {
		err = e.begin(rec)
	}
	if err == nil && rec.Damage != nil {
		err = e.damage(rec)
	}
	if err != nil || len(rec.Chars) == 0 && rec.Carrier == 0 && rec.Lost == 0 {
		return err
	}
	s, err := e.describe(rec)
	if err != nil {
		return err
	}
	return e.heard(rec, s, lost)
}

// year is far below the longest time that a line can have, which is 31 of them.
const year = 365 * 24 * time.Hour

// begin begins a recording. One that begins so long after the last that its times would
// be too large is moved by its wall clock; the first one then stands behind one without
// anything in it, which keeps time 0.
func (e *fileExport) begin(rec *exported) (err error) {
	started := rec.Origin
	if far := rec.End.since - year; !started.IsZero() && rec.End.known && far > e.shift+29*year {
		if e.last == 0 {
			if e.w, err = NewWriter(e.to, started, nil); err == nil {
				err = e.w.End()
			}
		}
		e.shift = far
	}
	if !started.IsZero() {
		started = started.Add(e.shift)
	}
	if err == nil {
		e.w, err = NewWriter(e.to, started, nil)
	}
	return err
}

// describe describes a stream when it is first heard.
func (e *fileExport) describe(rec *exported) (*shadow, error) {
	s := &e.streams[rec.Stream]
	if s.begun {
		return s, nil
	}
	s.begin(rec)
	return s, e.w.also(int(rec.Stream), &Stream{Name: rec.Name, Times: rec.timesTold(), Late: rec.Late, Parity: rec.Parity, Via: rec.Via})
}

// also describes a stream when the times have begun already.
func (w *Writer) also(i int, s *Stream) error {
	for len(w.streams) <= i {
		w.streams = append(w.streams, described{})
	}
	return w.describe(i, s)
}

// since is the time of a record in its recording, and not before that of the one in front
// of it.
func (e *fileExport) since(rec *exported, s *shadow, lost *omissions) time.Duration {
	at := rec.Start
	if s.times == lastEnd {
		at = rec.End
	}
	least := max(e.shift, s.at.since)
	switch {
	case !at.known:
		at = After(least)
	case at.since < least:
		lost[lostOverlaps] += int64(len(rec.Chars))
		at = After(least)
	}
	s.at = at
	e.last = max(e.last, at.since, rec.End.since)
	return at.since - e.shift
}

func (e *fileExport) heard(rec *exported, s *shadow, lost *omissions) error {
	at := e.since(rec, s, lost)
	if rec.Lost > 0 {
		s.news(s.carrier)
		if err := e.w.Lost(rec.Stream, at, rec.Lost); err != nil {
			return err
		}
	}
	if rec.Carrier != 0 {
		s.news(rec.Carrier > 0)
		return e.w.Carrier(rec.Stream, at, rec.Carrier > 0)
	}
	if len(rec.Chars) == 0 {
		return nil
	}
	s.take(rec, lost)
	return e.w.Heard(rec.Stream, at, rec.Chars, rec.marks)
}

// damage notes in a comment what of the input could not be read. So many characters are
// missing as nobody knows: one at least, in every stream.
func (e *fileExport) damage(rec *exported) error {
	text := strings.NewReplacer("\r", " ", "\n", " ").Replace(rec.Damage.Error())
	if err := e.w.Remark(fmt.Sprintf("some characters are missing, nobody knows how many: %.1000s", text)); err != nil {
		return err
	}
	for number := range e.streams {
		s := &e.streams[number]
		if !s.begun {
			continue
		}
		s.news(s.carrier)
		if err := e.w.Lost(uint8(number), max(s.at.since-e.shift, 0), 1); err != nil {
			return err
		}
	}
	return nil
}

func (e *fileExport) end() (err error) {
	if e.w == nil {
		if e.w, err = NewWriter(e.to, time.Time{}, nil); err != nil {
			return err
		}
	}
	return e.w.End()
}
