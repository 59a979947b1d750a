package process

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"looptone/sim/setting"
)

// A PlaybackError refuses a file, and says where and why.
type PlaybackError struct {
	File         string
	Line, Column int // from 1; columns count bytes
	Err          error
}

func (e *PlaybackError) Error() string {
	return fmt.Sprintf("%s:%d:%d: %v", e.File, e.Line, e.Column, e.Err)
}

func (e *PlaybackError) Unwrap() error { return e.Err }

// ParsePlayback reads a course from a file of comma-separated values: a row a
// point, time and value in it, with rising times.
//
// A time is a number of seconds of line time, or a date and time as in RFC 3339,
// of which the first stands for line time 0. Where columns are separated by
// semicolons, a number may have a decimal comma. A header in the first row is
// passed over, and so are empty lines and lines that begin with #.
//
// Name is that of the file, for errors. An error is a [*PlaybackError].
func ParsePlayback(name string, text []byte) (*Playback, error) {
	r := newPlaybackReader(name, text)
	var p Playback
	for {
		s, err := r.row()
		switch {
		case err == io.EOF && len(p.Points) == 0:
			return nil, &PlaybackError{name, 1, 1, setting.Refuse("file", "no rows", "one or more, for instance 0.0,12.5")}
		case err == io.EOF:
			return &p, nil
		case err != nil:
			return nil, err
		}
		p.Points = append(p.Points, s)
	}
}

// playbackReader reads the rows of a file.
type playbackReader struct {
	name         string
	csv          *csv.Reader
	decimalComma bool
	rows         int // read so far, a header included

	dated    bool // times are dates and times
	epoch    time.Time
	last     Sample
	lastLine int // of the row before; 0 in the first
}

func newPlaybackReader(name string, text []byte) *playbackReader {
	const byteOrderMark = "\ufeff"
	text = bytes.TrimPrefix(text, []byte(byteOrderMark))
	r := &playbackReader{name: name, csv: csv.NewReader(bytes.NewReader(text))}
	r.csv.Comment = '#'
	r.csv.FieldsPerRecord = -1 // counted here, to say what is missing
	r.csv.ReuseRecord = true
	if separatedBySemicolons(text) {
		r.csv.Comma, r.decimalComma = ';', true
	}
	return r
}

// separatedBySemicolons looks at the first line that holds something.
func separatedBySemicolons(text []byte) bool {
	for line := range bytes.Lines(text) {
		if line = bytes.TrimSpace(line); len(line) > 0 && line[0] != '#' {
			return bytes.ContainsRune(line, ';')
		}
	}
	return false
}

// row reads the next point; [io.EOF] behind the last.
func (r *playbackReader) row() (Sample, error) {
	fields, err := r.csv.Read()
	if err != nil {
		return Sample{}, r.refuseSyntax(err)
	}
	for i := range fields {
		fields[i] = strings.TrimSpace(fields[i])
	}
	r.rows++
	if r.rows == 1 && isHeader(fields) {
		return r.row()
	}
	if len(fields) != 2 {
		return Sample{}, r.refuse(0, r.countError(len(fields)))
	}
	return r.sample(fields[0], fields[1])
}

// isHeader is true for a row of words. What begins like a number is none, whatever
// follows: a row of it is to be refused, not passed over.
func isHeader(fields []string) bool {
	for _, f := range fields {
		digits := strings.TrimLeft(f, "+-.,")
		if digits == "" || digits[0] >= '0' && digits[0] <= '9' || isNumber(f) {
			return false
		}
	}
	return true
}

func isNumber(field string) bool {
	_, err := strconv.ParseFloat(field, 64)
	return err == nil || errors.Is(err, strconv.ErrRange)
}

func isDate(field string) bool {
	_, err := time.Parse(time.RFC3339, field)
	return err == nil
}

func (r *playbackReader) sample(at, value string) (s Sample, err error) {
	if s.At, err = r.moment(at); err != nil {
		return s, r.refuse(0, err)
	}
	if s.Value, err = r.value(value); err != nil {
		return s, r.refuse(1, err)
	}
	if r.lastLine > 0 && !s.after(r.last) {
		return s, r.refuse(0, setting.Refuse("time", at, "a later one than in line %d", r.lastLine))
	}
	r.last = s
	r.lastLine, _ = r.csv.FieldPos(0)
	return s, nil
}

// moment reads a time of the kind that the first row has.
func (r *playbackReader) moment(field string) (time.Duration, error) {
	if r.lastLine == 0 && isDate(field) {
		r.dated = true
		r.epoch, _ = time.Parse(time.RFC3339, field)
	}
	if !r.dated {
		return r.seconds(field)
	}
	t, err := time.Parse(time.RFC3339, field)
	if err != nil {
		return 0, setting.Refuse("time", shown(field), "a date and time, such as %s, in every row", r.epoch.Format(time.RFC3339))
	}
	return t.Sub(r.epoch), nil
}

// longest is the latest time in seconds of a playback.
const longest = 1e9 // some 30 years

func (r *playbackReader) seconds(field string) (time.Duration, error) {
	v, err := r.number("time", field)
	if err != nil {
		return 0, err
	}
	if !(v >= 0 && v <= longest) {
		return 0, setting.Refuse("time", field, "0 to %g seconds of line time", longest)
	}
	return time.Duration(math.Round(v * 1e9)), nil
}

func (r *playbackReader) value(field string) (float64, error) {
	v, err := r.number("value", field)
	if err != nil {
		return 0, err
	}
	return v, setting.Number("value", v)
}

// number reads a number, which may be infinite or none.
func (r *playbackReader) number(name, field string) (float64, error) {
	text := field
	if r.decimalComma {
		text = strings.Replace(field, ",", ".", 1)
	}
	if !isNumber(text) {
		return 0, r.wantNumber(name, field)
	}
	v, _ := strconv.ParseFloat(text, 64)
	return v, nil
}

// wantNumber says what would be right in the place of a field.
func (r *playbackReader) wantNumber(name, field string) error {
	switch {
	case name == "time" && r.lastLine > 0 && isDate(field):
		return setting.Refuse(name, shown(field), "seconds, as in the first row")
	case name == "time":
		return setting.Refuse(name, shown(field), "seconds, or a date and time such as 2031-03-01T03:10:07Z")
	case field == "":
		return setting.Refuse(name, "nothing", "a number; leave the row out for a straight line over the gap")
	}
	return setting.Refuse(name, shown(field), "a number")
}

func shown(field string) string {
	if field == "" {
		return "nothing"
	}
	return strconv.Quote(field)
}

func (r *playbackReader) countError(columns int) error {
	if columns == 1 {
		return setting.Refuse("row", "1 column", "2: time and value, for instance 0.0,12.5")
	}
	if columns > 2 && !r.decimalComma {
		return setting.Refuse("row", fmt.Sprintf("%d columns", columns),
			"2: time and value; with a decimal comma in numbers, semicolons between columns")
	}
	return setting.Refuse("row", fmt.Sprintf("%d columns", columns), "2: time and value")
}

// refuse is an error at a field of the row that was read last.
func (r *playbackReader) refuse(field int, err error) error {
	line, column := r.csv.FieldPos(field)
	return &PlaybackError{r.name, line, column, err}
}

// refuseSyntax keeps what the CSV decoder found wrong.
func (r *playbackReader) refuseSyntax(err error) error {
	var at *csv.ParseError
	if !errors.As(err, &at) {
		return err
	}
	return &PlaybackError{r.name, at.Line, at.Column, fmt.Errorf("this is no CSV: %w", at.Err)}
}
