package capture

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"time"

	"looptone/frame"
)

var (
	errTime      = errors.New("is no time: want seconds with at most nine digits on either side of the point")
	errNoStream  = errors.New("a stream is missing behind the time: want a number from 0 to 255")
	errStream    = errors.New("is no stream: want a number from 0 to 255")
	errNothing   = errors.New("what was heard is missing behind the stream: want characters of two hex digits, carrier or lost")
	errBackwards = errors.New("time lies before that of the line in front of it on this stream: lines are out of order, or a clock was set back")
	errLongest   = errors.New("lies more than 100 years behind the first time of the file")
	errHeard     = errors.New("is nothing that is heard: want characters of two hex digits, carrier or lost")
	errCharacter = errors.New("is no character: want two hex digits, and behind them p, f or g for what is to be marked")
	errCarrier   = errors.New("is nothing that a carrier does: want on or off")
	errLost      = errors.New("is no number of lost characters: want 1 to 999999999")
)

// longest is how long a capture may be: twelve times the most that can be written
// as a time would be more than a Duration holds.
const longest = 100 * 366 * 24 * time.Hour

// mostLost is the most that can be written in as many digits as a time has.
const mostLost = 999_999_999

// heard reads a line with a time, a stream, and what was heard of it. It tells
// where an error stands.
func (r *fileReader) heard(text []byte, rec *Record) (at int, err error) {
	since, n := seconds(text)
	switch {
	case n == 0 || n < len(text) && text[n] != ' ':
		return 0, fmt.Errorf("%q %w", firstWord(text), errTime)
	case n == len(text):
		return n, errNoStream
	}
	at = n + 1
	number, n := streamNumber(text[at:])
	switch {
	case n == 0 || at+n < len(text) && text[at+n] != ' ':
		return at, fmt.Errorf("%q %w", firstWord(text[at:]), errStream)
	case len(text)-at-n <= 1:
		return at + n, errNothing
	}
	at += n + 1
	if since += r.section.shift; since > longest {
		return 0, fmt.Errorf("%q %w", firstWord(text), errLongest)
	}
	r.section.filled = true
	s := r.stream(number)
	rec.Stream, rec.Name, rec.Late, rec.Parity, rec.Via = number, s.name, s.late, s.parity, s.via
	rec.Times = s.times.told()
	if s.at.known && since < s.at.since {
		r.damaged(rec, 0, errBackwards)
	}
	s.at = After(since)
	return r.heardOf(s, since, text, at, rec)
}

// heardOf reads what was heard of s, from text[at] on.
func (r *fileReader) heardOf(s *stream, since time.Duration, text []byte, at int, rec *Record) (_ int, err error) {
	switch word := text[at:]; {
	case bytes.HasPrefix(word, []byte("carrier ")): // which begins as a character does
		at += len("carrier ")
		rec.Carrier, err = s.heardCarrier(text[at:])
	case bytes.HasPrefix(word, []byte("lost ")):
		at += len("lost ")
		rec.Lost, err = s.lost(text[at:])
	case len(word) > 1 && class[word[0]]|class[word[1]] < blank:
		return r.heardCharacters(s, since, text, at, rec)
	default:
		err = fmt.Errorf("%q %w", firstWord(word), errHeard)
	}
	if err == nil {
		if s.times != ofNothing {
			rec.Start, rec.End = After(since), After(since)
		}
		rec.Marks = s.cutMark(r.marks[:0])
		r.last = max(r.last, since)
	}
	return at, err
}

// streamNumber reads a number; n is how long it is, 0 where there is none.
func streamNumber(b []byte) (number uint8, n int) {
	n = decimals(b)
	if n == 0 || n > 3 {
		return 0, 0
	}
	v := 0
	for _, c := range b[:n] {
		v = v*10 + int(c-'0')
	}
	if v > 255 {
		return 0, 0
	}
	return uint8(v), n
}

func (s *stream) heardCarrier(word []byte) (change int8, err error) {
	switch string(word) {
	case "on":
		change = 1
	case "off":
		change = -1
	default:
		return 0, fmt.Errorf("%q %w", word, errCarrier)
	}
	s.carrier = change > 0
	return change, nil
}

func (s *stream) lost(word []byte) (int64, error) {
	n, err := strconv.ParseUint(string(word), 10, 32)
	if err != nil || n == 0 || n > mostLost {
		return 0, fmt.Errorf("%q %w", word, errLost)
	}
	return int64(n), nil
}

// heardCharacters reads the characters of s that begin at text[at].
func (r *fileReader) heardCharacters(s *stream, since time.Duration, text []byte, at int, rec *Record) (int, error) {
	if bad, err := r.readCharacters(text, at, s.pos); err != nil {
		return bad, err
	}
	n := int64(len(r.chars))
	rec.Start, rec.End = s.span(since, n)
	if s.times == untold && !s.reported {
		s.reported = true
		r.damaged(rec, at, fmt.Errorf(`stream %d is not described, so its times mean nothing: want a line "! stream %d" in front`, rec.Stream, rec.Stream))
	}
	if s.breaks(rec.Start) {
		r.marks = s.cutMark(r.marks)
	}
	rec.Chars, rec.Marks = r.chars, r.marks
	rec.Place = Place{File: r.in.name, Line: r.line, Columns: r.columns}
	s.pos, s.end = s.pos+n, rec.End
	r.last = max(r.last, since, rec.End.since)
	return 0, nil
}

// readCharacters reads pairs of digits with their marks, from text[at] on; the
// first has index pos in its stream.
func (r *fileReader) readCharacters(text []byte, at int, pos int64) (bad int, err error) {
	r.marks = r.marks[:0]
	room := (len(text) - at + 2) / 3
	chars := slices.Grow(r.chars[:0], room)[:room]
	columns := slices.Grow(r.columns[:0], room)[:room]
	n := 0
	for ; at < len(text); n++ {
		hi, lo := class[text[at]], classAt(text, at+1)
		if hi|lo >= blank {
			return at, fmt.Errorf("%q %w", firstWord(text[at:]), errCharacter)
		}
		chars[n], columns[n] = hi<<4|lo, int64(at)+1
		if at += 2; at < len(text) && text[at] != ' ' {
			mark, length := marksOf(text[at:])
			if length == 0 {
				return at - 2, fmt.Errorf("%q %w", firstWord(text[at-2:]), errCharacter)
			}
			r.marks = append(r.marks, frame.MarkAt{Pos: pos + int64(n), Mark: mark})
			at += length
		}
		at++
	}
	r.chars, r.columns = chars[:n], columns[:n]
	return 0, nil
}

// marksOf reads the letters behind a character, up to a blank or the end; length
// is 0 where there is another one.
func marksOf(b []byte) (mark frame.Mark, length int) {
	for _, c := range b {
		switch c {
		case 'p':
			mark |= frame.Parity
		case 'f':
			mark |= frame.Framing
		case 'g':
			mark |= frame.Gap
		case ' ':
			return mark, length
		default:
			return 0, 0
		}
		length++
	}
	return mark, length
}

// firstWord is b up to a blank, its beginning if that is long.
func firstWord(b []byte) []byte {
	b = wordOf(b)
	return b[:min(len(b), shown)]
}

// wordOf is b up to a blank.
func wordOf(b []byte) []byte {
	if i := bytes.IndexByte(b, ' '); i >= 0 {
		return b[:i]
	}
	return b
}

// seconds reads the number that b begins with: at most nine digits on either side
// of the point. n is how long it is; 0 where there is none.
func seconds(b []byte) (d time.Duration, n int) {
	n = decimals(b)
	if n == 0 || n > 9 {
		return 0, 0
	}
	for _, c := range b[:n] {
		d = d*10 + time.Duration(c-'0')
	}
	d *= time.Second
	if n == len(b) || b[n] != '.' {
		return d, n
	}
	n++
	places := decimals(b[n:])
	if places == 0 || places > 9 {
		return 0, 0
	}
	unit := time.Second
	for _, c := range b[n : n+places] {
		unit /= 10
		d += time.Duration(c-'0') * unit
	}
	return d, n + places
}

// decimals is how many decimal digits b begins with.
func decimals(b []byte) (n int) {
	for n < len(b) && '0' <= b[n] && b[n] <= '9' {
		n++
	}
	return n
}
