package capture

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"looptone/frame"
)

// A lineLogReader reads what was written down of a simulated line: JSON lines, one a
// carrier, in the order in which they went on. All of it is one stream, as it was on one
// pair of wires. Of characters that overlap a receiver makes out none: the first one is
// there, with a wrong parity bit.
type lineLogReader struct {
	in     *input
	err    error
	line   int64
	stream stream
	second int64         // in ticks of the log; 0 before its head
	latest time.Duration // start of the last character that was read, of all talkers
	told   time.Duration // and of the last one that was handed on

	held   []logged      // characters, by their start
	until  time.Duration // those that begin before that are handed on: nothing comes in front of them
	behind *Record       // when nothing is held any more

	chars   []byte
	columns []int64
	marks   []frame.MarkAt
}

// mostInSecond is how many characters may begin within a second: twice what 256 talkers say
// at once.
const mostInSecond = 1 << 16

const (
	noneHeld = math.MinInt64
	allHeld  = math.MaxInt64
)

var (
	errNoHead  = errors.New(`carrier without the head of its log, want the object with "line" and "ticks_per_second" in front of it`)
	errTooLate = errors.New("it is wrong: the end of a character stands behind its start, and both at most 100 years behind the start of the log")
	errCrowd   = fmt.Errorf("more than %d characters begin within a second", mostInSecond)
	errFalls   = errors.New("it lies before what stands in front of it")
)

// isLineLog reports whether an input begins as a log does, or in the middle of one.
func isLineLog(line []byte) bool {
	_, ok := logHead(line)
	return ok || bytes.HasPrefix(line, []byte(`{"talker":`))
}

func openLineLog(in *input) (Reader, string, error) {
	if _, ok := logHead(lineAhead(in)); !ok {
		return nil, "", &SyntaxError{Position{File: in.name, Line: 1, Column: 1}, errNoHead}
	}
	return &lineLogReader{in: in, until: noneHeld}, "log of a simulated line", nil
}

func (r *lineLogReader) Next(rec *Record) error {
	for {
		*rec = Record{}
		switch {
		case len(r.held) > 0 && r.held[0].start < r.until:
			r.handOn(rec)
			return nil
		case r.behind != nil:
			r.turn(rec)
			return nil
		case r.err != nil:
			return r.err
		}
		r.read()
	}
}

// turn tells what stands behind all that was held.
func (r *lineLogReader) turn(rec *Record) {
	*rec, r.behind, r.until = *r.behind, nil, noneHeld
	if rec.Damage != nil || rec.Resumed {
		r.stream.cut = true
	}
	if rec.Resumed {
		r.latest, r.told = 0, 0
	}
}

func (r *lineLogReader) read() {
	line, whole, err := r.in.line()
	if err != nil {
		r.err, r.until = err, allHeld
		return
	}
	r.line++
	switch {
	case len(bytes.TrimSpace(line)) == 0:
		return
	case !whole:
		err = errLong
	default:
		err = r.take(line)
	}
	if err != nil {
		r.damaged(err)
	}
}

func (r *lineLogReader) damaged(err error) {
	column := int64(1)
	if place := (*inLine)(nil); errors.As(err, &place) {
		column, err = place.column, place.err
	}
	r.later(Record{Damage: &SyntaxError{Position{File: r.in.name, Line: r.line, Column: column}, err}})
}

// later has news told behind all that is held.
func (r *lineLogReader) later(news Record) {
	news.Streams = 1
	r.behind, r.until = &news, allHeld
}

// take takes a line: the head of a log, the end of one, or a carrier.
func (r *lineLogReader) take(line []byte) error {
	if second, ok := logHead(line); ok {
		return r.begin(second)
	}
	if r.second == 0 {
		return errNoHead
	}
	object, err := parseLogged(line, r.line)
	switch {
	case err != nil:
		return err
	case object.end == nil:
		return r.hold(object)
	}
	end, ok := r.since(*object.end)
	switch {
	case !ok:
		return errTooLate
	case end < r.told:
		return errFalls
	}
	r.held = slices.DeleteFunc(r.held, func(c logged) bool { return c.end > end }) // which was not said any more
	r.later(Record{Times: StartTimes, Start: After(end), End: After(end)})
	return nil
}

// begin begins a log, which may stand behind another one.
func (r *lineLogReader) begin(second int64) error {
	if second < 1 || second > int64(time.Second) {
		return errTicks
	}
	if r.second > 0 {
		r.later(Record{Resumed: true})
	}
	r.second = second
	return nil
}

// hold keeps characters until nothing can come in front of them any more. What a host
// outside has sent stands in the log when it has arrived, later than it began.
func (r *lineLogReader) hold(object *logObject) error {
	if len(r.held)+len(object.chars) > mostInSecond {
		return errCrowd
	}
	for i := range object.chars {
		c := &object.chars[i]
		var starts, ends bool
		c.start, starts = r.since(c.startTick)
		c.end, ends = r.since(c.endTick)
		switch {
		case !starts || !ends || c.end < c.start:
			return &inLine{c.column, errTooLate}
		case c.start < r.told:
			return &inLine{c.column, errFalls}
		}
		r.latest = max(r.latest, c.start)
	}
	r.held = append(r.held, object.chars...)
	slices.SortStableFunc(r.held, func(a, b logged) int { return cmp.Compare(a.start, b.start) })
	r.held = collided(r.held)
	r.until = r.latest - time.Second
	return nil
}

// collided spoils characters that overlap, and leaves the first of them.
func collided(all []logged) (heard []logged) {
	heard = all[:0]
	for _, c := range all {
		if n := len(heard); n > 0 && c.start < heard[n-1].end && c.line != heard[n-1].line {
			heard[n-1].mark |= frame.Parity
			continue
		}
		heard = append(heard, c)
	}
	return heard
}

// since is when a tick was; ok is false where no log is so long.
func (r *lineLogReader) since(tick int64) (since time.Duration, ok bool) {
	whole, rest := tick/r.second, tick%r.second
	if tick < 0 || whole > int64(longest/time.Second) {
		return 0, false
	}
	return time.Duration(whole)*time.Second + time.Duration(rest)*time.Second/time.Duration(r.second), true
}

// handOn hands on characters of one carrier that follow each other without a gap.
func (r *lineLogReader) handOn(rec *Record) {
	r.chars, r.columns, r.marks = r.chars[:0], r.columns[:0], r.marks[:0]
	first := r.held[0]
	rec.Start = After(first.start)
	if r.stream.breaks(rec.Start) {
		r.marks = r.stream.cutMark(r.marks)
	}
	n := 0
	for ; n < len(r.held) && r.held[n].start < r.until; n++ {
		c := &r.held[n]
		if n > 0 && (c.line != first.line || c.start != r.held[n-1].end) {
			break
		}
		if c.mark != 0 {
			r.marks = append(r.marks, frame.MarkAt{Pos: r.stream.pos + int64(n), Mark: c.mark})
		}
		r.chars, r.columns = append(r.chars, c.char), append(r.columns, c.column)
	}
	last := r.held[n-1]
	rec.End = After(last.end)
	rec.Streams, rec.Times, rec.Parity = 1, StartTimes, true
	rec.Chars, rec.Marks = r.chars, r.marks
	rec.Place = Place{File: r.in.name, Line: first.line, Columns: r.columns}
	r.told, r.stream.end = last.start, rec.End
	r.stream.pos += int64(n)
	r.held = slices.Delete(r.held, 0, n)
}
