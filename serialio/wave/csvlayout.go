package wave

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// csvLayout is what the columns of a CSV mean.
type csvLayout struct {
	separator byte
	head      int64 // lines in front of the first row
	time      int   // column, −1 for none
	timeUnit  unit
	volts     int
	voltUnit  unit // without a name where it is not said
	named     bool // a header says which are the times
}

// width is how many columns a row has at least.
func (l *csvLayout) width() int { return max(l.time, l.volts) + 1 }

// A unit is how many of the plain one it is, and how it is written.
type unit struct {
	name  string
	plain float64
}

// ampere reports whether it is one of a current.
func (u *unit) ampere() bool { return strings.HasSuffix(u.name, "A") }

// The units of times, voltages and currents, by their words in a header. A single a is no
// unit there, as in "channel A".
var (
	second, milli, micro, nano = unit{"s", 1}, unit{"ms", 1e-3}, unit{"µs", 1e-6}, unit{"ns", 1e-9}
	volt, milliVolt, microVolt = unit{"V", 1}, unit{"mV", 1e-3}, unit{"µV", 1e-6}
	amp, milliAmp, microAmp    = unit{"A", 1}, unit{"mA", 1e-3}, unit{"µA", 1e-6}

	timeUnits = map[string]unit{
		"s": second, "sec": second, "second": second, "seconds": second, "ms": milli, "msec": milli, "milliseconds": milli,
		"us": micro, "µs": micro, "μs": micro, "usec": micro, "microseconds": micro, "ns": nano, "nanoseconds": nano,
	}
	voltUnits = map[string]unit{
		"v": volt, "volt": volt, "volts": volt, "mv": milliVolt, "millivolt": milliVolt, "millivolts": milliVolt,
		"uv": microVolt, "µv": microVolt, "μv": microVolt,
		"amp": amp, "amps": amp, "ampere": amp, "amperes": amp, "ma": milliAmp, "milliamp": milliAmp, "milliamps": milliAmp,
		"milliampere": milliAmp, "milliamperes": milliAmp, "ua": microAmp, "µa": microAmp, "μa": microAmp,
	}
	timeWords = map[string]bool{"time": true, "times": true, "timestamp": true, "seconds": true, "second": true, "t": true}
)

var (
	errNoWave     = errors.New("no samples in it: want a WAV file, or a CSV with a column of times and one of volts")
	errNoTimes    = errors.New("samples without times: want a column of times, or --rate for how many samples a second there are")
	errWhichVolts = errors.New("several columns, and none is said to be the samples: want --columns volts=NUMBER")
	errTimesToo   = errors.New("has times, which say the rate: want no --rate, or --columns with nothing but volts")
)

// chosen are the columns that are wanted, by number or by name; "" for one that is to be
// found.
type chosen struct{ time, volts string }

// parseColumns reads "time=1,volts=CH2".
func parseColumns(text string) (c chosen, err error) {
	if text == "" {
		return c, nil
	}
	for pair := range strings.SplitSeq(text, ",") {
		word, name, _ := strings.Cut(pair, "=")
		name = strings.TrimSpace(name)
		switch strings.TrimSpace(word) {
		case "time":
			c.time = name
		case "volts":
			c.volts = name
		default:
			return c, fmt.Errorf("--columns: %q is not known of a waveform: want time or volts", word)
		}
		if name == "" {
			return c, fmt.Errorf("--columns: %q is no choice of a column: want for instance time=1,volts=2", pair)
		}
	}
	return c, nil
}

// findCSV finds the layout in the first lines of a CSV.
func findCSV(text []byte, want chosen, rate float64) (l csvLayout, s csvSample, err error) {
	separator := byte(',')
	for _, other := range []byte("\t;, ") {
		if try := sampleOf(text, other); try.numbers() > s.numbers() {
			s, separator = try, other
		}
	}
	if s.numbers() == 0 && want == (chosen{}) {
		return l, s, errNoWave
	}
	if len(s.rows) == 0 {
		s = sampleOf(text, separator)
	}
	l = csvLayout{separator: separator, time: -1, volts: -1, timeUnit: second, voltUnit: unit{plain: 1}}
	if err := l.choose(&s, want, rate); err != nil {
		return l, s, err
	}
	l.head = int64(s.firstRow(&l))
	l.units(&s)
	return l, s, nil
}

// choose finds the columns: those that are wanted; else the header tells which are the
// times, or they are the first numbers; and the volts are the first that are not them.
func (l *csvLayout) choose(s *csvSample, want chosen, rate float64) (err error) {
	if l.time, err = s.column(want.time); err != nil {
		return err
	}
	if l.volts, err = s.column(want.volts); err != nil {
		return err
	}
	if want.time == "" && (want.volts == "" || rate == 0) {
		l.time = s.times(l.volts)
		l.named = l.time >= 0
	}
	switch {
	case l.time >= 0 && rate > 0:
		return errTimesToo
	case l.time < 0 && rate == 0 && s.numbers() > 1:
		l.time = s.firstBut(l.volts)
	case rate > 0 && l.volts < 0 && s.numbers() > 1:
		return errWhichVolts
	}
	if l.volts < 0 {
		l.volts = s.firstBut(l.time)
	}
	switch {
	case l.volts < 0:
		return errNoWave
	case l.time < 0 && rate == 0:
		return errNoTimes
	}
	return nil
}

// sampleRow is what a row holds.
type sampleRow struct {
	time float64 // in seconds, and its digits too
	digits
	volts float64
}

// numbersOf reads a row; ok tells whether all was there.
func numbersOf(l *csvLayout, row []field) (r sampleRow, ok bool) {
	if len(row) < l.width() {
		return r, false
	}
	if l.time >= 0 {
		if r.time, r.digits, ok = readNumber(row[l.time].text); !ok {
			return r, false
		}
		r.time *= l.timeUnit.plain
		r.places -= int(math.Round(math.Log10(l.timeUnit.plain)))
	}
	r.volts, _, ok = readNumber(row[l.volts].text)
	r.volts *= l.voltUnit.plain
	return r, ok
}

// mostAbove is how many lines above the first row can name units.
const mostAbove = 3

// units finds the units in the lines above the first row; of several, the nearest tells.
func (l *csvLayout) units(s *csvSample) {
	above := mostAbove
	var time, volts bool
	for i := int(l.head) - 1; i >= 0 && above > 0; i-- {
		row := s.rows[i]
		if isBlank(row) || len(row) < l.width() {
			continue
		}
		above--
		if l.time >= 0 && !time {
			time = l.timeUnit.in(row[l.time], timeUnits)
		}
		if !volts {
			volts = l.voltUnit.in(row[l.volts], voltUnits)
		}
	}
}

// in becomes the last word of a header's field that is a unit, and reports whether there
// is one.
func (u *unit) in(f field, units map[string]unit) (found bool) {
	for _, word := range wordsOf(f.text) {
		if is, ok := units[word]; ok {
			*u, found = is, true
		}
	}
	return found
}
