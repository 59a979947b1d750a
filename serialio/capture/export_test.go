package capture

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"looptone/frame"
)

// toldOf is what a capture tells of one stream, in the order of its file.
type toldOf struct {
	Number     uint8
	Name       string
	Late       time.Duration
	Parity     bool
	Via        Via
	Chars      []byte
	Marks      []frame.Mark // of each character
	Times      []string     // start bit of each character
	News       []string     // at which character something else was told
	Dated      []string     // wall clock of each character, where it is known
	afterwards frame.Mark   // before the next character
}

// readStreams reads a capture whole. Damage fails the test.
func readStreams(t require, text []byte, as string) (streams []*toldOf) {
	rd, _, err := Open(bytes.NewReader(text), "trace", as)
	if err != nil {
		t.Fatalf("%v", err)
	}
	var byNumber [256]*toldOf
	for rec := new(Record); ; {
		err := rd.Next(rec)
		if err == io.EOF {
			return streams
		}
		if err != nil || rec.Damage != nil {
			t.Fatalf("%v, damage %v in\n%q", err, rec.Damage, text)
		}
		if rec.Resumed && len(rec.Chars) == 0 {
			continue
		}
		s := byNumber[rec.Stream]
		if s == nil {
			s = &toldOf{Number: rec.Stream}
			byNumber[rec.Stream], streams = s, append(streams, s)
		}
		s.Name, s.Late, s.Parity, s.Via = rec.Name, rec.Late, rec.Parity, rec.Via
		s.add(rec)
	}
}

// require is what a rapid test and a test have in common.
type require interface{ Fatalf(string, ...any) }

func (s *toldOf) add(rec *Record) {
	pos := int64(len(s.Chars))
	at, known := rec.Start.Since()
	if rec.Carrier != 0 {
		s.News = append(s.News, fmt.Sprintf("%d: carrier %d at %v %v", pos, rec.Carrier, at, known))
	}
	if rec.Lost > 0 {
		s.News = append(s.News, fmt.Sprintf("%d: lost %d at %v %v", pos, rec.Lost, at, known))
	}
	s.Chars = append(s.Chars, rec.Chars...)
	for i := range rec.Chars {
		begin := rec.Start.plus(int64(i))
		s.Times = append(s.Times, fmt.Sprint(begin))
		s.Marks = append(s.Marks, s.afterwards)
		s.afterwards = 0
		if !rec.Origin.IsZero() {
			s.Dated = append(s.Dated, rec.Origin.Add(begin.since).Format(time.RFC3339Nano))
		}
	}
	for _, m := range rec.Marks {
		if m.Pos == int64(len(s.Chars)) {
			s.afterwards |= m.Mark
		} else {
			s.Marks[m.Pos] |= m.Mark
		}
	}
}

// anyRecording draws a capture file.
func anyRecording(t *rapid.T) []byte {
	var file bytes.Buffer
	for range rapid.IntRange(1, 2).Draw(t, "recordings") {
		var started time.Time
		if rapid.Bool().Draw(t, "clocked") {
			started = time.Unix(rapid.Int64Range(1, 3e9).Draw(t, "started"), rapid.Int64Range(0, 999999999).Draw(t, "ns")).In(time.FixedZone("", 60*rapid.IntRange(-720, 720).Draw(t, "zone")))
		}
		streams := make([]Stream, rapid.IntRange(1, 3).Draw(t, "streams"))
		for i := range streams {
			streams[i] = Stream{
				Name:   rapid.SampledFrom([]string{"", "host", "from A, to B", `a "modem"`, "Größe"}).Draw(t, "name"),
				Times:  rapid.SampledFrom([]Times{StartTimes, EndTimes}).Draw(t, "times"),
				Late:   time.Duration(rapid.Int64Range(0, 50e6).Draw(t, "late")),
				Parity: rapid.Bool().Draw(t, "parity"),
				Via:    Via(rapid.IntRange(0, 3).Draw(t, "via")),
			}
		}
		w, err := NewWriter(&file, started, streams)
		if err != nil {
			t.Fatal(err)
		}
		ends := make([]time.Duration, len(streams))
		at := time.Duration(0)
		for range rapid.IntRange(0, 12).Draw(t, "lines") {
			at += time.Duration(rapid.Int64Range(0, 200e6).Draw(t, "pause"))
			n := rapid.IntRange(0, len(streams)-1).Draw(t, "stream")
			if err := drawLine(t, w, &streams[n], uint8(n), &at, &ends[n]); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.End(); err != nil {
			t.Fatal(err)
		}
	}
	return file.Bytes()
}

// drawLine writes a line that does not overlap the one in front of it, which no line can.
func drawLine(t *rapid.T, w *Writer, s *Stream, number uint8, at, end *time.Duration) error {
	*at = max(*at, *end)
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0:
		*end = *at
		return w.Carrier(number, *at, rapid.Bool().Draw(t, "on"))
	case 1:
		*end = *at
		return w.Lost(number, *at, rapid.Int64Range(1, 999999999).Draw(t, "lost"))
	}
	chars := rapid.SliceOfN(rapid.Byte(), 1, 20).Draw(t, "chars")
	var marks []frame.MarkAt
	for i := range chars {
		if m := frame.Mark(rapid.IntRange(0, 20).Draw(t, "mark")); m&^(frame.Parity|frame.Framing|frame.Gap) == 0 && m != 0 {
			marks = append(marks, frame.MarkAt{Pos: int64(i), Mark: m})
		}
	}
	length := frame.Characters(int64(len(chars)))
	*end = *at + length
	when := *at
	if s.Times == EndTimes {
		when = *end
	}
	return w.Heard(number, when, chars, marks)
}

// convert reads a capture and writes it in another format.
func convert(t require, text []byte, to string) (out []byte, lost []string) {
	rd, _, err := Open(bytes.NewReader(text), "trace", "")
	if err != nil {
		t.Fatalf("%v", err)
	}
	var b bytes.Buffer
	e, err := NewExport(&b, to)
	if err != nil {
		t.Fatalf("%v", err)
	}
	for rec := new(Record); ; {
		if err = rd.Next(rec); err != nil {
			break
		}
		if err := e.Write(rec); err != nil {
			t.Fatalf("%v", err)
		}
	}
	if err != io.EOF {
		t.Fatalf("%v", err)
	}
	if lost, err = e.Close(); err != nil {
		t.Fatalf("%v", err)
	}
	return b.Bytes(), lost
}

// Own capture → own capture, → pcapng → own capture: everything is there again.
func TestConvertedCaptureTellsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anyRecording(t)
		want := readStreams(t, text, "")
		for _, way := range [][]string{{"capture"}, {"pcapng"}, {"pcapng", "capture"}, {"capture", "pcapng", "pcapng", "capture"}} {
			out := text
			for _, to := range way {
				var lost []string
				if out, lost = convert(t, out, to); len(lost) > 0 {
					t.Fatalf("%v: lost are %q", way, lost)
				}
			}
			if diff := cmp.Diff(want, readStreams(t, out, ""), cmp.AllowUnexported(toldOf{})); diff != "" {
				t.Fatalf("%v: %s\n%s\n%s", way, diff, text, out)
			}
		}
	})
}

// Own capture → CSV → own capture: characters, times and marks are there again, on as
// many streams in the order in which they turn up.
func TestConvertedToCSVTellsCharactersTimesAndMarks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anyRecording(t)
		want := readStreams(t, text, "")
		want = slices.DeleteFunc(want, func(s *toldOf) bool { return len(s.Chars) == 0 })
		table, _ := convert(t, text, "csv")
		if len(want) == 0 {
			if string(table) != csvHead {
				t.Fatalf("got %s", table)
			}
			return
		}
		got := readStreams(t, table, "csv")
		if len(got) != len(want) {
			t.Fatalf("got %d streams, want %d\n%s\n%s", len(got), len(want), text, table)
		}
		for _, g := range got {
			if !slices.ContainsFunc(want, func(w *toldOf) bool {
				return bytes.Equal(g.Chars, w.Chars) && slices.Equal(g.Marks, w.Marks) && slices.Equal(g.Times, w.Times)
			}) {
				t.Fatalf("%s\n%s\n%s", cmp.Diff(want, got, cmp.AllowUnexported(toldOf{})), text, table)
			}
		}
	})
}

// → raw and hex: the same characters in the same order.
func TestConvertedToCharactersHoldsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := anyRecording(t)
		var want []byte
		rd, _, err := Open(bytes.NewReader(text), "trace", "")
		for rec := new(Record); err == nil; {
			if err = rd.Next(rec); err == nil {
				want = append(want, rec.Chars...)
			}
		}
		raw, _ := convert(t, text, "raw")
		if !bytes.Equal(raw, want) {
			t.Fatalf("raw: got % x, want % x", raw, want)
		}
		hex, _ := convert(t, text, "hex")
		if got := readText(string(hex), "hex"); len(want) > 0 && (got.err != nil || !bytes.Equal(got.chars, want)) {
			t.Fatalf("hex: got % x, %v, want % x\n%s", got.chars, got.err, want, hex)
		}
	})
}

func TestHexAndCSVAsTheyAre(t *testing.T) {
	text := sealed(firstSeed, "looptone capture 1", `! stream 0 "host" times=end`, `! stream 1 "line" times=start`,
		"0.1 0 ff ff 02 80p 00 00 82", "0.11 0 ff", "0.2 1 ffg 06fp", "0.3 0 carrier off", "! end")
	hex, lost := convert(t, []byte(text), "hex")
	want := "ff ff 02 80 00 00 82 ff  # 0.035833334 s stream 0 marks 4p\nff 06  # 0.2 s stream 1 marks 1g 2pf\n"
	if string(hex) != want {
		t.Errorf("got %s, want %s", hex, want)
	}
	wantLost := []string{"the times", "the marks of 3 characters", "which stream a character was on", "one change of a carrier"}
	if diff := cmp.Diff(wantLost, lost); diff != "" {
		t.Error(diff)
	}
	table, lost := convert(t, []byte(text), "csv")
	wantTable := `time,stream,hex,marks
0.035833334,host,ff,
0.045,host,ff,
0.054166667,host,02,
0.063333334,host,80,parity
0.0725,host,00,
0.081666667,host,00,
0.090833334,host,82,
0.100833334,host,ff,
0.2,line,ff,gap
0.209166666,line,06,parity framing
`
	if diff := cmp.Diff(wantTable, string(table)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"one change of a carrier"}, lost); diff != "" {
		t.Error(diff)
	}
}

func TestUnknownExport(t *testing.T) {
	_, err := NewExport(io.Discard, "tape")
	if want := `unknown format "tape": want capture, raw, hex, csv or pcapng`; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// Times that were late by more and less can overlap; who reads a CSV takes that for damage.
func TestTimesInCSVDoNotRunBack(t *testing.T) {
	var out bytes.Buffer
	e, err := NewExport(&out, "csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []time.Duration{time.Second, time.Second - time.Millisecond} {
		if err := e.Write(&Record{Chars: []byte{0xff}, Start: After(at), End: After(at).plus(1), Streams: 1}); err != nil {
			t.Fatal(err)
		}
	}
	lost, err := e.Close()
	if want := "the time of one character, which lies before that of the one in front of it"; err != nil || len(lost) != 1 || lost[0] != want {
		t.Errorf("lost: got %q, %v, want %q", lost, err, want)
	}
	if want := "time,stream,hex,marks\n1,\"stream 0\",ff,\n1,\"stream 0\",ff,\n"; out.String() != want {
		t.Errorf("got\n%s\nwant\n%s", out.String(), want)
	}
}
