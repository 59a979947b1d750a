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
	errStream    = errors.New("is no stream: want a number from 0 to 255")
	errHeard     = errors.New("is nothing that is heard: want characters of two hex digits, carrier or lost")
	errCharacter = errors.New("is no character: want two hex digits, and behind them p, f or g for what is to be marked")
	errCarrier   = errors.New("is nothing that a carrier does: want on or off")
	errLost      = errors.New("is no number of lost characters")
)

// heard reads a line with a time, a stream, and what was heard of it. It tells
// where an error stands.
func (r *fileReader) heard(text []byte, rec *Record) (at int, err error) {
	since, n := seconds(text)
	if n == 0 || n == len(text) || text[n] != ' ' {
		return 0, fmt.Errorf("%q %w", firstWord(text), errTime)
	}
	at = n + 1
	number, n := streamNumber(text[at:])
	if n == 0 {
		return at, fmt.Errorf("%q %w", firstWord(text[at:]), errStream)
	}
	at += n
	since += r.section.shift
	r.section.filled = true
	s := r.stream(number)
	rec.Stream = number
	switch word := text[at:]; {
	case bytes.HasPrefix(word, []byte("carrier ")): // which begins as a character does
		at += len("carrier ")
		err = s.heardCarrier(text[at:])
	case bytes.HasPrefix(word, []byte("lost ")):
		at += len("lost ")
		rec.Lost, err = s.lost(text[at:])
	case len(word) > 1 && class[word[0]]|class[word[1]] < blank:
		return r.heardCharacters(s, since, text, at, rec)
	default:
		err = fmt.Errorf("%q %w", firstWord(word), errHeard)
	}
	if err == nil {
		rec.Start, rec.End = After(since), After(since)
		rec.Marks = s.cutMark(r.marks[:0])
		r.last = max(r.last, since)
	}
	return at, err
}

// streamNumber reads a number and the blank behind it; n is 0 where there is none.
func streamNumber(b []byte) (number uint8, n int) {
	n = decimals(b)
	if n == 0 || n > 3 || n == len(b) || b[n] != ' ' {
		return 0, 0
	}
	v := 0
	for _, c := range b[:n] {
		v = v*10 + int(c-'0')
	}
	if v > 255 {
		return 0, 0
	}
	return uint8(v), n + 1
}

func (s *stream) heardCarrier(word []byte) error {
	if string(word) != "on" && string(word) != "off" {
		return fmt.Errorf("%q %w", word, errCarrier)
	}
	s.carrier = true
	return nil
}

func (s *stream) lost(word []byte) (int64, error) {
	n, err := strconv.ParseUint(string(word), 10, 62)
	if err != nil || n == 0 {
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
	if i := bytes.IndexByte(b, ' '); i >= 0 {
		b = b[:i]
	}
	return b[:min(len(b), shown)]
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
