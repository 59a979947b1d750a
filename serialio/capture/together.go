package capture

import (
	"errors"
	"fmt"
	"io"
	"time"
)

// together puts the records of several captures in one order.
type together struct {
	members []member
	err     error
	origin  time.Time // of time 0; that of the capture that told something first
	begun   bool
	streams int // so far
}

// member is one of several captures.
type member struct {
	Reader
	rec     Record
	here    bool // rec is the next record
	ended   bool
	last    Stamp           // end of what was heard last
	numbers map[uint8]uint8 // of its streams among all of them
}

var (
	errNoMoment = errors.New("has no time, and captures are read together in the order of times")
	errClocks   = errors.New("has a time by the wall clock and those of another capture are without, or the other way round: nobody knows what was at the same time")
	errApart    = errors.New("lies more than 100 years from what another capture holds")
)

// Together reads captures that were made at the same time, for instance one of each
// direction of a line, as one: in the order in which things had been heard, by the wall
// clocks of all, or if none tells it by times that begin together.
func Together(captures ...Reader) Reader {
	t := &together{members: make([]member, len(captures))}
	for i, r := range captures {
		t.members[i] = member{Reader: r, numbers: map[uint8]uint8{}}
	}
	return t
}

func (t *together) Next(rec *Record) error {
	if t.err != nil {
		return t.err
	}
	var first *member
	for i := range t.members {
		p := &t.members[i]
		if t.err = t.fill(p); t.err != nil {
			return t.err
		}
		if p.here && (first == nil || p.last.since < first.last.since) {
			first = p
		}
	}
	if first == nil {
		t.err = io.EOF
		return t.err
	}
	first.here = false
	*rec = first.rec
	return nil
}

// fill reads the next record of a capture, unless it is here.
func (t *together) fill(p *member) error {
	if p.here || p.ended {
		return nil
	}
	err := p.Next(&p.rec)
	if p.ended = err == io.EOF; p.ended {
		return nil
	}
	p.here = err == nil
	if err == nil {
		err = t.place(p)
	}
	return err
}

// place gives a record its place among those of all captures: a time that counts as
// theirs do, and the number of a stream. What has no characters may be without a time,
// and comes behind what was in front of it.
func (t *together) place(p *member) error {
	rec := &p.rec
	if len(rec.Chars) > 0 && !rec.End.known && !p.last.known {
		return placed(rec, errNoMoment)
	}
	if rec.End.known {
		if err := t.shift(rec); err != nil {
			return err
		}
		p.last = rec.End
	}
	number, known := p.numbers[rec.Stream]
	if !known {
		if t.streams == maxStreams {
			return placed(rec, errStreams)
		}
		number = uint8(t.streams)
		p.numbers[rec.Stream] = number
		t.streams++
	}
	rec.Stream, rec.Streams = number, max(t.streams, len(t.members))
	return nil
}

// shift has the times of a record count from time 0 of all.
func (t *together) shift(rec *Record) error {
	if !t.begun {
		t.begun, t.origin = true, rec.Origin
	}
	if rec.Origin.IsZero() != t.origin.IsZero() {
		return placed(rec, errClocks)
	}
	by := rec.Origin.Sub(t.origin)
	if by > longest || by < -longest {
		return placed(rec, errApart)
	}
	rec.Start.since, rec.End.since, rec.Origin = rec.Start.since+by, rec.End.since+by, t.origin
	return nil
}

// placed is what is wrong with a record, with its place if it has one.
func placed(rec *Record, wrong error) error {
	if len(rec.Chars) == 0 {
		return fmt.Errorf("what was heard of stream %d %w", rec.Stream, wrong)
	}
	return &SyntaxError{rec.Place.Of(0), fmt.Errorf("character %w", wrong)}
}
