package capture

import (
	"io"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"looptone/frame"
)

// FuzzCSV, FuzzVCD and FuzzLog look for what no reader may do: stop without an error,
// answer otherwise when the input comes in other pieces, give marks outside of the
// characters, or times that run backwards on a stream.
func FuzzCSV(f *testing.F) {
	f.Add("time,stream,hex,marks\n0.000000,0,ff,\n1.000000,0,02,g\n,1,80,\n2.000000,0,80,\"p f cut\"\n", "")
	f.Add("Time;Data\r\nms;\r\n0,000;FF\r\n10,000;02\r\n", "")
	f.Add("time (ms),level\n-1,1\n0,0\n1.667,1\n2.5,0\n8.333,1\n", "")
	f.Add("23:59:59.5;'A'\n", "time=1,char=2")
	f.Add("2031-03-01 03:10:07.120,7,1\n", "time=1,level=2,level=3")
	f.Fuzz(func(t *testing.T, text, columns string) {
		checkReader(t, text, Options{As: "csv", Columns: columns})
		checkReader(t, text, Options{})
	})
}

func FuzzVCD(f *testing.F) {
	f.Add(smallVCD, "")
	f.Add(smallVCD, "level=top.bus[2]")
	f.Add("$timescale 1ps $end $var wire 1 ! rx [3] $end $enddefinitions $end #1 0! #900000000 x! r1e9 ! b0 !", "")
	f.Fuzz(func(t *testing.T, text, columns string) {
		checkReader(t, text, Options{As: "vcd", Columns: columns})
	})
}

func FuzzLog(f *testing.F) {
	f.Add("2031-03-01T03:10:07.120+01:00 out ff ff 02\nopened\n")
	f.Add("23:59:59.9 in 02\n00:00:00.1 in 0x8080")
	f.Fuzz(func(t *testing.T, text string) {
		checkReader(t, text, Options{Pattern: `(?P<time>\S*) (?P<direction>\S*) (?P<hex>.*)`})
	})
}

func checkReader(t *testing.T, text string, o Options) {
	t.Helper()
	want := allOf(t, strings.NewReader(text), o)
	if got := allOf(t, iotest.OneByteReader(strings.NewReader(text)), o); got != want {
		t.Errorf("one byte a read: got\n%s\nwant\n%s", got, want)
	}
}

// allOf is what a capture yields, as text.
func allOf(t *testing.T, r io.Reader, o Options) string {
	t.Helper()
	var out strings.Builder
	rd, what, err := OpenWith(r, "trace.txt", o)
	out.WriteString(what + "\n")
	if err != nil {
		return out.String() + err.Error()
	}
	pos := map[uint8]int64{}
	at := map[uint8]Stamp{}
	for rec := new(Record); ; {
		if err := rd.Next(rec); err != nil {
			if again := rd.Next(rec); again != err {
				t.Errorf("another error when called again: %v", again)
			}
			return out.String() + err.Error()
		}
		n := int64(len(rec.Chars))
		for _, m := range rec.Marks {
			if m.Pos < pos[rec.Stream] || m.Pos > pos[rec.Stream]+n || m.Mark == 0 {
				t.Errorf("mark %+v, characters %d to %d", m, pos[rec.Stream], pos[rec.Stream]+n)
			}
		}
		for i := range rec.Chars {
			if p := rec.Place.Of(i); p.Line < 0 || p.Line > 0 && p.Column < 1 {
				t.Errorf("character at %v", p)
			}
		}
		pos[rec.Stream] += n
		if last := at[rec.Stream]; rec.Start.known && last.known && rec.Start.since < last.since && rec.Damage == nil && !rec.Resumed {
			t.Errorf("%v behind %v", rec.Start, last)
		}
		at[rec.Stream] = rec.Start
		out.WriteString(sayRecord(rec) + "\n")
	}
}

// growing is a capture of any size: a head, and lines with times that go on.
type growing struct {
	rest []byte
	n    int
	line func(n int) string
	left int // bytes
}

func (g *growing) Read(b []byte) (int, error) {
	if g.left <= 0 {
		return 0, io.EOF
	}
	for len(g.rest) < len(b) {
		g.rest = append(g.rest, g.line(g.n)...)
		g.n++
	}
	n := copy(b, g.rest)
	g.rest = g.rest[:copy(g.rest, g.rest[n:])]
	g.left -= n
	return n, nil
}

// TestAllocationsOfLongInputs reads 8 MB of each format: what is kept must not grow.
func TestAllocationsOfLongInputs(t *testing.T) {
	for name, tt := range map[string]struct {
		options Options
		head    string
		line    func(n int) string
	}{
		"csv":    {Options{As: "csv"}, "time,stream,hex\n", func(n int) string { return strconv.Itoa(n) + ",a,ff\n" }},
		"levels": {Options{As: "csv"}, "time (ms),a,b\n", func(n int) string { return strconv.Itoa(n) + "," + strconv.Itoa(n&1) + ",0\n" }},
		"vcd":    {Options{}, smallVCD, func(n int) string { return "#" + strconv.Itoa(n*90+5000) + "\n" + strconv.Itoa(n&1) + "!\n" }},
		"log":    {Options{Pattern: "^(?P<time>[0-9]*) (?P<hex>.*)"}, "", func(n int) string { return strconv.Itoa(n) + " ff ff 02\n" }},
	} {
		g := &growing{rest: []byte(tt.head), line: tt.line, left: 8 << 20}
		rd, _, err := OpenWith(g, name, tt.options)
		if err != nil {
			t.Fatal(err)
		}
		var before, now runtime.MemStats
		records := 0
		for rec := new(Record); err == nil; records++ {
			if err = rd.Next(rec); records == 10_000 {
				runtime.GC()
				runtime.ReadMemStats(&before)
			}
		}
		runtime.GC()
		runtime.ReadMemStats(&now)
		runtime.KeepAlive(rd)
		if g.left > 0 || records < 20_000 {
			t.Errorf("%s: %d records, %d bytes left, %v", name, records, g.left, err)
		}
		if grown := int64(now.HeapAlloc) - int64(before.HeapAlloc); grown > 1<<20 {
			t.Errorf("%s: %d bytes more kept behind %d records", name, grown, records)
		}
	}
}

// Two endless words: none of them may be kept.
func TestEndlessWords(t *testing.T) {
	for _, o := range []Options{{As: "vcd"}, {As: "csv"}, {Pattern: "(?P<hex>f+)$"}} {
		rd, _, err := OpenWith(io.LimitReader(&endless{text: "f"}, 64<<20), "trace.txt", o)
		if err == nil {
			err = rd.Next(new(Record))
		}
		if err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%+v: got %v", o, err)
		}
	}
}

// The idle line between characters, told by both readers of levels and of rows.
func TestSuccession(t *testing.T) {
	var s succession
	for _, tt := range []struct {
		at   float64 // characters
		want frame.Mark
	}{{0, 0}, {1, 0}, {2.9, 0}, {5.2, frame.Gap}, {11, frame.Gap}, {17.5, frame.Cut}} {
		if got := s.next(After(frame.Characters(int64(tt.at*10))/10), 0); got != tt.want {
			t.Errorf("at %v: got %v, want %v", tt.at, got, tt.want)
		}
	}
}
