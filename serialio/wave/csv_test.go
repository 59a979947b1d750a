package wave

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// rows are lines made by a format of time and volts, n of them at a rate.
func rows(n int, rate, begin float64, format func(t, v float64) string) string {
	var b strings.Builder
	for i := range n {
		t := begin + float64(i)/rate
		b.WriteString(format(t, math.Round(100*math.Sin(2*math.Pi*float64(i)/17))/100) + "\n")
	}
	return b.String()
}

func plainRow(t, v float64) string { return fmt.Sprintf("%.9f,%.2f", t, v) }

// comma is a row as people write it whose decimal sign is a comma.
func comma(separator string) func(t, v float64) string {
	return func(t, v float64) string {
		return strings.ReplaceAll(fmt.Sprintf("%.9f%s%.2f", t, separator, v), ".", ",")
	}
}

func TestReadCSV(t *testing.T) {
	const n = 5000 // more than is looked at to find the rate
	for _, c := range []struct {
		name, head, file string
		o                Options
		rate             float64
		scale            float64
		what             string
	}{
		{name: "header", head: "Time,Volt\n", file: rows(n, 48000, 0, plainRow), rate: 48000,
			what: "CSV of a waveform: time in column 1 (s), samples in column 2 (V), 48000 samples a second"},
		{name: "no header", file: rows(n, 48000, 0, plainRow), rate: 48000},
		{name: "byte order mark", head: "\xef\xbb\xbfTime,Volt\n", file: rows(n, 48000, 0, plainRow), rate: 48000},
		{name: "trigger in the middle", file: rows(n, 1e6, -0.0025, plainRow), rate: 1e6},
		{name: "remarks and units", head: "# a bench\nRecord length,5000\nSample interval,1e-5\n\nx-axis,1\nsecond,Volt\n", file: rows(n, 1e5, 0, plainRow), rate: 1e5},
		{name: "units row", head: "Time in seconds;Volt;B\n(ms);(mV);(mV)\n", file: rows(n, 20000, 0, func(t, v float64) string {
			return strings.ReplaceAll(fmt.Sprintf("%.4f;%.1f;1", 1000*t, v), ".", ",")
		}), rate: 20000, scale: 1e-3, what: "CSV of a waveform: time in column 1 (ms), samples in column 2 (mV), 20000 samples a second"},
		{name: "currents", head: "time [s],current [mA]\n", file: rows(n, 48000, 0, plainRow), rate: 48000, scale: 1e-3,
			what: "CSV of a waveform: time in column 1 (s), samples in column 2 (mA), 48000 samples a second"},
		{name: "a channel called A", head: "time,channel A\n", file: rows(n, 48000, 0, plainRow), rate: 48000,
			what: "CSV of a waveform: time in column 1 (s), samples in column 2, 48000 samples a second"},
		{name: "Latin-1", head: "Zeit (\xb5s)\tU (V)\n", file: rows(n, 250000, 0, func(t, v float64) string { return fmt.Sprintf("%.0f\t%.2f", 1e6*t, v) }), rate: 250000},
		{name: "semicolons", head: "t;u\n", file: rows(n, 44100, 0, comma(";")), rate: 44100},
		{name: "tabs", file: rows(n, 44100, 0, comma("\t")), rate: 44100},
		{name: "blanks", head: "; Sample Rate 48000\n; Channels 1\n", file: rows(n, 48000, 0, func(t, v float64) string { return fmt.Sprintf("%15.9f  %12.2f \t", t, v) }), rate: 48000},
		{name: "blanks under a marked header", head: "# volt time\n", file: rows(n, 48000, 0, func(t, v float64) string { return fmt.Sprintf("%.2f %.9f", v, t) }), rate: 48000,
			what: "CSV of a waveform: time in column 2 (s), samples in column 1 (V), 48000 samples a second"},
		{name: "quotation marks", head: "\"Time\",\"Channel, first\"\n", file: rows(n, 44100, 0, func(t, v float64) string {
			return `"` + strings.ReplaceAll(fmt.Sprintf("%.9f", t), ".", ",") + `","` + strings.ReplaceAll(fmt.Sprintf("%.2f", v), ".", ",") + `"`
		}), rate: 44100},
		{name: "exponents", file: rows(n, 96000, -1, func(t, v float64) string { return fmt.Sprintf("%+.12E, %+.2E", t, v) }), rate: 96000},
		{name: "few digits", file: rows(n, 1e6, 10, func(t, v float64) string { return fmt.Sprintf("%.5f,%.2f", t, v) }), rate: 1e6},
		{name: "few digits of 9600", file: rows(n, 9600, 0, func(t, v float64) string { return fmt.Sprintf("%.3f,%.2f", t, v) }), rate: 9600},
		{name: "remarks beside the rows", head: "Points,3,,0.0,0\nInterval,1e-5,,0.00001,0\n", o: Options{Columns: "time=4,volts=5"},
			file: rows(n, 1e5, 2e-5, func(t, v float64) string { return fmt.Sprintf(",,,%.6f,%.2f", t, v) }), rate: 1e5},
		{name: "chosen by name", head: "Time,CH1,CH2\n", file: rows(n, 48000, 0, func(t, v float64) string { return fmt.Sprintf("%.9f,7,%.2f", t, v) }), o: Options{Columns: "volts=ch2"}, rate: 48000},
		{name: "chosen by number", head: "CH1,CH2,Time\n", file: rows(n, 48000, 0, func(t, v float64) string { return fmt.Sprintf("7,%.2f,%.9f", v, t) }), o: Options{Columns: "time=3,volts=2"}, rate: 48000},
		{name: "times further on", head: "A,Time\n", file: rows(n, 48000, 0, func(t, v float64) string { return fmt.Sprintf("%.2f,%.9f", v, t) }), rate: 48000},
		{name: "blank lines and line ends", head: "Time,Volt\r\n", file: strings.ReplaceAll(rows(n, 48000, 0, plainRow), "\n", "\r\n") + "\r\n \n,\n", rate: 48000},
		{name: "no line end", file: strings.TrimSuffix(rows(n, 48000, 0, plainRow), "\n"), rate: 48000},
		{name: "samples alone", head: "Volt\n", file: rows(n, 48000, 0, func(t, v float64) string { return fmt.Sprintf("%.2f", v) }), o: Options{Rate: 22050}, rate: 22050,
			what: "CSV of a waveform: samples in column 1 (V), 22050 samples a second"},
		{name: "samples of one column", file: rows(n, 48000, 0, func(t, v float64) string { return fmt.Sprintf("%d;%.2f", 7, v) }), o: Options{Rate: 22050, Columns: "volts=2"}, rate: 22050},
	} {
		got := readAll(t, c.head+c.file, c.o)
		lines := strings.Count(strings.TrimRight(c.file, "\r\n ,"), "\n") + 1
		offset := 0
		if c.name == "remarks beside the rows" { // which hold samples too
			offset, lines = 2, lines+2
		}
		if got.err != nil || math.Abs(got.rate-c.rate) > 1e-3*c.rate || len(got.samples) != lines {
			t.Errorf("%s: got %d samples at %v, %v; want %d at %v", c.name, len(got.samples), got.rate, got.err, lines, c.rate)
			continue
		}
		if c.what != "" && got.what != c.what {
			t.Errorf("%s: got %q, want %q", c.name, got.what, c.what)
		}
		scale := c.scale
		if scale == 0 {
			scale = 1
		}
		for i, sample := range got.samples[offset:] {
			want := math.Round(100*math.Sin(2*math.Pi*float64(i)/17)) / 100
			if c.name == "units row" {
				want = math.Round(10*want) / 10
			}
			if math.Abs(float64(sample)-scale*want) > scale*0.051 && c.scale > 0 || c.scale == 0 && float64(sample) != float64(float32(want)) {
				t.Errorf("%s: sample %d: got %v, want %v", c.name, i, sample, want)
				break
			}
		}
	}
}

// Rates that digits tell exactly are exact.
func TestRateOfCSV(t *testing.T) {
	for _, rate := range []float64{8000, 9600, 44100, 48000, 192000, 1e6, 1 / 3e-6} {
		got := readAll(t, rows(4000, rate, 0, func(t, v float64) string { return fmt.Sprintf("%.12g,%.2f", t, v) }), Options{})
		if math.Abs(got.rate-rate) > 1e-7*rate {
			t.Errorf("got %v, want %v (%v)", got.rate, rate, got.err)
		}
	}
}

func TestWrongCSV(t *testing.T) {
	good := func(n int, begin float64) string { return rows(n, 1e4, begin, plainRow) }
	const wantRate = "want 8000 or more, which the tones need, and at most 1e9"
	for _, c := range []struct {
		file string
		o    Options
		want string
	}{
		{good(100, 0) + good(100, 0.0125), Options{}, "trace:101:1: hole of 0.0026 s between two rows, which are usually 0.0001 s apart: want every sample"},
		{good(9000, 0) + good(100, 0.9003), Options{}, "trace:9001:1: hole of 0.0004 s between two rows, which are usually 0.0001 s apart: want every sample"},
		{good(100, 0) + good(100, 0.0098), Options{}, "trace:101:1: time falls from 0.0099 s to 0.0098 s: want the rows in the order of times"},
		{good(9000, 0) + good(100, 0.89), Options{}, "trace:9001:1: time falls from 0.8999 s to 0.89 s: want the rows in the order of times"},
		{good(9000, 0) + rows(9000, 0.98e4, 0.9, plainRow), Options{}, "trace:12289:1: 9838.8 samples a second in the last 4096 rows, and 10000 at the beginning: want one rate"},
		{good(100, 0) + "0.01,abc\n" + good(100, 0.0101), Options{}, `trace:101:6: "abc" is no number: want for instance 0.25, -1,5 or 2.5e-3`},
		{good(100, 0) + "x,0.5\n" + good(100, 0.0101), Options{}, `trace:101:1: "x" is no number: want for instance 0.25, -1,5 or 2.5e-3`},
		{good(100, 0) + "0.01,NaN\n" + good(100, 0.0101), Options{}, `trace:101:6: "NaN" is no number: want for instance 0.25, -1,5 or 2.5e-3`},
		{good(100, 0) + "0.01,1e99\n" + good(100, 0.0101), Options{}, "trace:101:6: 1e+99 is beyond every voltage: want less"},
		{good(100, 0) + "0.01\n" + good(100, 0.0101), Options{}, "trace:101:5: row ends behind column 1: want at least 2 columns"},
		{good(100, 0) + "0.01,\n" + good(100, 0.0101), Options{}, `trace:101:6: "" is no number: want for instance 0.25, -1,5 or 2.5e-3`},
		{rows(100, 4000, 0, plainRow), Options{}, "trace:100:1: 4000 samples a second: " + wantRate},
		{rows(100, 4e9, 0, func(t, v float64) string { return fmt.Sprintf("%.12f,%.2f", t, v) }), Options{}, "trace:100:1: 4e+09 samples a second: " + wantRate},
		{strings.Repeat("1.5,0.25\n", 50), Options{}, "trace:50:1: time is still 1.5 s after 50 rows: want more digits"},
		{"Time,Volt\n0.5,1.0\n", Options{}, "trace:2:1: 1 rows with a time and a value, of which no rate follows: want 2 or more"},
		{"0.5\n0.25\n0.5\n", Options{}, "trace: samples without times: want a column of times, or --rate for how many samples a second there are"},
		{"nothing here\nthat is a number\n", Options{}, "trace: no samples in it: want a WAV file, or a CSV with a column of times and one of volts"},
		{"\x00\x01\x02\x03\x04", Options{}, "trace: no samples in it: want a WAV file, or a CSV with a column of times and one of volts"},
		{good(10, 0), Options{Columns: "volts=CH7"}, `trace: --columns: no column is called "CH7"`},
		{good(10, 0), Options{Columns: "volts=7"}, "trace:1:17: row ends behind column 2: want at least 7 columns"},
		{good(10, 0), Options{Columns: "ohms=7"}, `--columns: "ohms" is not known of a waveform: want time or volts`},
		{good(10, 0), Options{Columns: "volts"}, `--columns: "volts" is no choice of a column: want for instance time=1,volts=2`},
		{good(10, 0), Options{Channel: 2}, "trace is no WAV file, and only that has channels: want --columns volts=… for another column of a CSV"},
		{"Time,Volt\n" + good(10, 0), Options{Rate: 10000}, "trace: has times, which say the rate: want no --rate, or --columns with nothing but volts"},
		{good(10, 0), Options{Rate: 10000}, "trace: several columns, and none is said to be the samples: want --columns volts=NUMBER"},
		{good(10, 0), Options{Rate: 4000}, "--rate 4000: " + wantRate},
		{good(10, 0), Options{Rate: math.NaN()}, "--rate NaN: " + wantRate},
		{good(9000, 0) + strings.Repeat("1", 1<<18), Options{}, "trace:9001:1: line is longer than 128 KiB: want one row a line"},
	} {
		if got := readAll(t, c.file, c.o); got.err == nil || got.err.Error() != c.want {
			t.Errorf("got %v\nwant %s", got.err, c.want)
		}
	}
}

// What is no waveform is not taken for one.
func TestIsCSV(t *testing.T) {
	for text, want := range map[string]bool{
		rows(10, 1e4, 0, plainRow):                      true,
		"Time,CH1\ns,V\n" + rows(10, 4000, 0, plainRow): true,
		"Time,CH1\n0,1.5\n0,1.5\n0,1.5\n":               true,
		"ff ff ff\nff 02 80\n":                          false,
		"some text, and more\nof it, no number\n":       false,
		"12\n13\n14\n":                                  false,
		"Volts\n0.1\n0.2\n-0.1\n":                       true, // which wants --rate
		"5,1\n4,2\n3,1\n":                               false,
		"\x00\x01,\x02\n":                               false,
		"":                                              false,
		"2031-03-01T03:10:07 sent ff\n2031-03-01T03:10:08 sent ff": false,
	} {
		if got := IsCSV([]byte(text)); got != want {
			t.Errorf("%.40q: got %v, want %v", text, got, want)
		}
	}
}

func BenchmarkReadCSV(b *testing.B) {
	file := rows(100000, 48000, 0, plainRow)
	room := make([]float32, 8192)
	b.SetBytes(int64(len(file)))
	b.ReportAllocs()
	for b.Loop() {
		r, err := Open(strings.NewReader(file), "x.csv", Options{})
		for err == nil {
			_, err = r.Read(room)
		}
	}
}
