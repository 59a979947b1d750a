package capture

import (
	"bytes"
	"io"
	"strings"
	"testing"
)

// tones stands in for a format that somebody else reads: it begins with its name, or has
// a column of numbers with a decimal point.
func tones() Format {
	return Format{
		Word: "tones",
		Is: func(head []byte, all bool) bool {
			return bytes.HasPrefix(head, []byte("TONES")) || all && bytes.Contains(head, []byte(",0.5\n"))
		},
		Open: func(r io.Reader, name string) (Reader, string, error) {
			b, err := io.ReadAll(r)
			return &toneReader{rest: string(b), name: name}, "tones", err
		},
	}
}

// toneReader makes one record of what it is given.
type toneReader struct{ rest, name string }

func (r *toneReader) Next(rec *Record) error {
	if r.rest == "" {
		return io.EOF
	}
	*rec = Record{Chars: []byte(r.rest)[:1], Place: Place{File: r.name, Samples: []int64{1234}}}
	r.rest = ""
	return nil
}

// Columns in volts are no levels, even where they begin with nothing but 0.
func TestVoltsAreNoLevels(t *testing.T) {
	also := Format{Word: "tones", Is: func(_ []byte, all bool) bool { return all }, Open: tones().Open}
	rows := strings.Repeat("0.0001,0,0\n0.0002,0,0\n", 10)
	for head, want := range map[string]string{
		"Time,CH1,CH2\ns,mV,V\n":                  "tones",
		"Time (s),CH1 (V),CH2 (V)\n":              "tones",
		"Time,D0,D1\n":                            "CSV of levels",
		"Time,D0,D1\ns,,\n":                       "CSV of levels",
		"a remark: 5 V\nTime,Level,Level 2\n":     "CSV of levels",
		"Time,Volts at the pin,Volts beside it\n": "tones",
	} {
		_, what, err := OpenWith(strings.NewReader(head+rows), "trace", Options{Also: []Format{also}})
		if err != nil || !strings.HasPrefix(what, want) {
			t.Errorf("%q: got %q, %v; want %s", head, what, err, want)
		}
	}
}

func TestAlso(t *testing.T) {
	analog := "Time,CH1\n0.0001,0.5\n0.0002,0.25\n"
	for _, c := range []struct {
		name, text string
		o          Options
		what       string
	}{
		{"by its first bytes", "TONES\x00\x00\x00\x00\x00\x00", Options{}, "tones"},
		{"shorter than a head", "TONES", Options{}, "tones"},
		{"numbers", analog, Options{}, "tones"},
		{"numbers under a header of characters", "Time,Data\n0.0001,0.5\n0.0002,0.25\n", Options{}, "tones"},
		{"numbers under a header of levels", "Time,Level\n0.0001,0.5\n0.0002,0.25\n", Options{}, "tones"},
		{"forced", "anything", Options{As: "tones"}, "tones"},
		{"forced, with columns of its own", analog, Options{As: "tones", Columns: "volts=2"}, "tones"},
		{"characters", "Time,Data\n0.0001,ff\n0.0002,02\n0.5,0x02\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)"},
		{"levels", "Time,D0\n0.0001,1\n0.0002,0\n", Options{}, "CSV of levels: time in column 1 (s), levels in column 2 (D0); read as 1200 bit/s, 8 bits, odd parity"},
		{"hex text", "ff ff 02\n", Options{}, "hex text"},
		{"other bytes", "\x80TONES\xff\x02", Options{}, "raw bytes"},
		{"forced otherwise", "TONES", Options{As: "raw"}, "raw bytes"},
	} {
		c.o.Also = []Format{tones()}
		_, what, err := OpenWith(strings.NewReader(c.text), "trace", c.o)
		if err != nil || !strings.HasPrefix(what, c.what) {
			t.Errorf("%s: got %q, %v; want %s", c.name, what, err, c.what)
		}
	}
}

// Compressed, it is unpacked; what it yields stands at samples.
func TestAlsoPacked(t *testing.T) {
	text := gzipped(t, "TONES of gzip")
	rd, what, err := OpenWith(bytes.NewReader(text), "trace.wav.gz", Options{Also: []Format{tones()}})
	if err != nil || what != "gzip of tones" {
		t.Fatalf("got %q, %v", what, err)
	}
	var rec Record
	if err := rd.Next(&rec); err != nil || string(rec.Chars) != "T" {
		t.Fatalf("got %q, %v", rec.Chars, err)
	}
	var trail Trail
	trail.Add(0, &rec)
	rec.Place.Samples[0] = 0 // the trail has its own
	at, known := trail.Position(0)
	if got, want := at.String(), "trace.wav.gz: sample 1234"; !known || got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestAlsoRefuses(t *testing.T) {
	for _, c := range []struct {
		o    Options
		want string
	}{
		{Options{As: "tape"}, `unknown format "tape": want raw, hex, capture, csv, vcd, log, pcap, json or tones`},
		{Options{As: "tones", Pattern: "x"}, "--pattern is for a log, not for tones"},
		{Options{As: "tones", Inverted: true}, "--invert-levels is for CSV and VCD, not for tones"},
		{Options{As: "csv", Columns: "volts=2"}, `--columns: "volts" is not known: want time, data, hex, dec, char, stream, error, marks or level`},
	} {
		c.o.Also = []Format{tones()}
		if _, _, err := OpenWith(strings.NewReader("TONES"), "trace", c.o); err == nil || err.Error() != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}
