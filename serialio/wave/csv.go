package wave

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
)

// csv reads a CSV.
type csv struct {
	in     *bufio.Reader
	name   string
	layout csvLayout
	hertz  float64
	even   even
	line   int64 // that was read last
	fields []field
}

var byteOrderMark = []byte("\xef\xbb\xbf")

func openCSV(in *bufio.Reader, name string, o Options) (*csv, error) {
	if o.Channel != 0 {
		return nil, errors.New(name + " is no WAV file, and only that has channels: want --columns volts=… for another column of a CSV")
	}
	want, err := parseColumns(o.Columns)
	if err != nil {
		return nil, err
	}
	text, err := in.Peek(bufferSize)
	if err != nil && err != io.EOF {
		return nil, err
	}
	if bytes.HasPrefix(text, byteOrderMark) {
		in.Discard(len(byteOrderMark))
		text = text[len(byteOrderMark):]
	}
	if err == nil { // there is more, so the last line may not be whole
		text = text[:bytes.LastIndexByte(text, '\n')+1]
	}
	l, sample, err := findCSV(text, want, o.Rate)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	c := &csv{in: in, name: name, layout: l, hertz: o.Rate}
	if l.time >= 0 {
		if err := c.findRate(&sample); err != nil {
			return nil, err
		}
	}
	return c, nil
}

// findRate finds the rate from the times of the first rows, and refuses what is wrong
// with those times already.
func (c *csv) findRate(s *csvSample) error {
	l := &c.layout
	var rows []sampleRow
	var lines []int64
	for i, row := range s.rows[l.head:] {
		if r, ok := numbersOf(l, row); ok {
			rows, lines = append(rows, r), append(lines, l.head+int64(i)+1)
		} else if !isBlank(row) && len(rows) < 2 {
			c.line, c.fields = l.head+int64(i)+1, row
			return c.wrong()
		} else if !isBlank(row) {
			break // reading will say so
		}
	}
	at := func(i int) (line, column int64) { return lines[i], s.rows[lines[i]-1][l.time].column }
	if len(rows) < 2 {
		return c.failed(l.head+1, 1, fmt.Errorf("%d rows with a time and a value, of which no rate follows: want 2 or more", len(rows)))
	}
	c.even = evenOf(rows)
	check := c.even
	for i := range rows {
		if err := check.add(rows[i]); err != nil {
			line, column := at(i)
			return c.failed(line, column, err)
		}
	}
	line, column := at(len(rows) - 1)
	if rows[0].time == rows[len(rows)-1].time {
		return c.failed(line, column, fmt.Errorf("time is still %.9g s after %d rows: want more digits", rows[0].time, len(rows)))
	}
	if c.hertz = c.even.rate; !(c.hertz >= leastRate && c.hertz <= mostRate) {
		return c.failed(line, column, fmt.Errorf("%.5g samples a second: %s", c.hertz, wantRate))
	}
	return nil
}

func (c *csv) failed(line, column int64, err error) error {
	return &SyntaxError{File: c.name, Line: line, Column: column, Err: err}
}

func (c *csv) rate() float64 { return c.hertz }

func (c *csv) what() string {
	l := &c.layout
	what := "CSV of a waveform: "
	if l.time >= 0 {
		what += fmt.Sprintf("time in column %d (%s), ", l.time+1, l.timeUnit.name)
	}
	what += fmt.Sprintf("samples in column %d", l.volts+1)
	if unit := l.voltUnit.name; unit != "" {
		what += " (" + unit + ")"
	}
	return fmt.Sprintf("%s, %.7g samples a second", what, c.hertz)
}

func (c *csv) told() string { return "" }

func (c *csv) place(int) SyntaxError { return SyntaxError{File: c.name, Line: c.line, Column: 1} }

var (
	errNoNumber = errors.New("is no number: want for instance 0.25, -1,5 or 2.5e-3")
	errLong     = errors.New("line is longer than 128 KiB: want one row a line")
)

func (c *csv) read(dst []float32) (n int, err error) {
	for n < len(dst) {
		if n > 0 && !c.ready() {
			break
		}
		sample, found, err := c.row()
		if err != nil {
			return n, err
		}
		if found {
			dst[n] = sample
			n++
		}
	}
	return n, nil
}

// ready reports whether another line is there already.
func (c *csv) ready() bool {
	b, _ := c.in.Peek(c.in.Buffered())
	return bytes.IndexByte(b, '\n') >= 0
}

// row reads a line; found tells whether it holds a sample.
func (c *csv) row() (sample float32, found bool, err error) {
	line, err := c.in.ReadSlice('\n')
	switch {
	case err == bufio.ErrBufferFull:
		return 0, false, c.failed(c.line+1, 1, errLong)
	case err == io.EOF && len(line) > 0:
	case err != nil:
		return 0, false, err
	}
	if c.line++; c.line <= c.layout.head {
		return 0, false, nil
	}
	line = bytes.TrimRight(line, "\r\n")
	c.fields = splitRow(c.fields[:0], line, c.layout.separator)
	r, ok := numbersOf(&c.layout, c.fields)
	if !ok {
		if isBlank(c.fields) {
			return 0, false, nil
		}
		return 0, false, c.wrong()
	}
	if c.layout.time >= 0 {
		if err := c.even.add(r); err != nil {
			return 0, false, c.failed(c.line, c.fields[c.layout.time].column, err)
		}
	}
	sample = float32(r.volts)
	if !isFinite(sample) {
		return 0, false, c.failed(c.line, c.fields[c.layout.volts].column, fmt.Errorf("%g is beyond every voltage: want less", r.volts))
	}
	return sample, true, nil
}

// wrong is what keeps the fields from being a row.
func (c *csv) wrong() error {
	l := &c.layout
	if last := c.fields[len(c.fields)-1]; len(c.fields) < l.width() {
		return c.failed(c.line, last.column+int64(len(last.text)), fmt.Errorf("row ends behind column %d: want at least %d columns", len(c.fields), l.width()))
	}
	for _, column := range [...]int{l.time, l.volts} {
		if column < 0 {
			continue
		}
		if _, _, ok := readNumber(c.fields[column].text); !ok {
			return c.failed(c.line, c.fields[column].column, fmt.Errorf("%q %w", shortened(c.fields[column].text), errNoNumber))
		}
	}
	panic("a row that can be read is called wrong")
}

// shortened is the beginning of a text for a sentence.
func shortened(text []byte) string {
	const most = 40
	if len(text) > most {
		return decoded(text[:most]) + "…"
	}
	return decoded(text)
}
