package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/frame"
)

// ms is a time in milliseconds.
func ms(n float64) time.Duration { return time.Duration(n * float64(time.Millisecond)) }

// begun is a Writer of a recording with two streams.
func begun(t *testing.T, w io.Writer) *Writer {
	t.Helper()
	c, err := NewWriter(w, time.Date(2031, 3, 1, 3, 10, 7, 120_000_000, time.FixedZone("", 3600)), []Stream{
		{Name: "from the host", Times: EndTimes, Late: 16 * time.Millisecond, Parity: true},
		{Name: "on the loop", Times: StartTimes, Via: Modem},
	})
	check(t, err)
	return c
}

func check(t *testing.T, errs ...error) {
	t.Helper()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
}

// converse writes what there can be in a file, and no two lines alike.
func converse(t *testing.T, w io.Writer) {
	t.Helper()
	c := begun(t, w)
	check(t,
		c.Remark("remark"),
		c.Heard(0, ms(100), mustHex(t, "ffff0280010083"), nil),
		c.Heard(1, ms(36), mustHex(t, "ffff0280010083"), nil),
		c.Carrier(1, ms(200), true),
		c.Heard(1, ms(204.000001), mustHex(t, "ffffff06800107000039 41"), nil),
		c.Heard(1, ms(304), mustHex(t, "c8000030"), nil),
		c.Carrier(1, ms(350), false),
		c.Lost(1, ms(900), 4),
		c.Heard(0, ms(1100), mustHex(t, "ffff0280020080"), []frame.MarkAt{{Pos: 3, Mark: frame.Parity}, {Pos: 6, Mark: frame.Framing | frame.Gap}}),
		c.Heard(0, ms(1200), mustHex(t, "ffff0280020080"), []frame.MarkAt{{Pos: 4, Mark: frame.Gap}}),
		c.End())
}

// The lines are those that the format's description and another CRC lead to.
func TestWriter(t *testing.T) {
	var b strings.Builder
	converse(t, &b)
	want := sealed(firstSeed, "looptone capture 1",
		"! started 2031-03-01T03:10:07.12+01:00",
		`! stream 0 "from the host" times=end late=0.016 parity=visible`,
		`! stream 1 "on the loop" times=start parity=hidden via=modem`,
		"# remark",
		"0.1 0 ff ff 02 80 01 00 83",
		"0.036 1 ff ff 02 80 01 00 83",
		"0.2 1 carrier on",
		"0.204000001 1 ff ff ff 06 80 01 07 00 00 39 41",
		"0.304 1 c8 00 00 30",
		"0.35 1 carrier off",
		"0.9 1 lost 4",
		"1.1 0 ff ff 02 80p 02 00 80fg",
		"1.2 0 ff ff 02 80 02g 00 80",
		"! end")
	if got := b.String(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// TestEveryChangeOfWhatIsWritten: also where another recording was appended.
func TestEveryChangeOfWhatIsWritten(t *testing.T) {
	var b strings.Builder
	converse(t, &b)
	checkChanges(t, strings.SplitAfter(strings.TrimSuffix(b.String(), "\n"), "\n"))
}

// Each line is one write, with its end, so that a kill tears at most the last one.
func TestEachLineIsOneWrite(t *testing.T) {
	var writes writes
	converse(t, &writes)
	for _, line := range writes {
		if strings.Index(line, "\n") != len(line)-1 {
			t.Errorf("written was %q, want a line", line)
		}
	}
	if len(writes) != 15 {
		t.Errorf("%d writes, want 15", len(writes))
	}
}

type writes []string

func (w *writes) Write(b []byte) (int, error) {
	*w = append(*w, string(b))
	return len(b), nil
}

// A fact is a thing that a Writer was given, or that a reader has read.
type fact struct {
	stream  uint8
	at      time.Duration // of the first start bit, or of the end; -1: not known
	chars   string
	marks   string
	carrier int8
	lost    int64
}

// facts reads a file; characters of a stream that follow without a gap are one fact.
func facts(t *rapid.T, text string) (out []fact) {
	rd, _, err := Open(strings.NewReader(text), "trace.txt", "")
	if err != nil {
		t.Fatal(err)
	}
	var pos [256]int64
	for rec := new(Record); ; {
		if err := rd.Next(rec); err != nil {
			if err != io.EOF {
				t.Fatal(err)
			}
			return out
		}
		if rec.Damage != nil {
			t.Fatalf("%v in\n%s", rec.Damage, text)
		}
		f := fact{stream: rec.Stream, at: -1, chars: string(rec.Chars), carrier: rec.Carrier, lost: rec.Lost}
		if at, known := rec.End.Since(); known {
			f.at = at
		}
		f.marks = saidMarks(rec.Marks, pos[rec.Stream], frame.Cut)
		pos[rec.Stream] += int64(len(rec.Chars))
		out = append(out, f)
	}
}

// saidMarks are the marks in words, counted from first, without those that are left out.
func saidMarks(marks []frame.MarkAt, first int64, without frame.Mark) (said string) {
	for _, m := range marks {
		if m.Mark &^= without; m.Mark != 0 {
			said += fmt.Sprintf(" %v at %d", m.Mark, m.Pos-first)
		}
	}
	return said
}

// TestWhatIsWrittenIsRead: the same bytes, times, marks, streams, carriers and losses.
func TestWhatIsWrittenIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		streams := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Stream {
			return Stream{
				Name: rapid.String().Draw(t, "name"), Times: Times(rapid.IntRange(0, 2).Draw(t, "times")),
				Late: time.Duration(rapid.Int64Range(0, 1e10).Draw(t, "late")), Parity: rapid.Bool().Draw(t, "parity"),
				Via: Via(rapid.IntRange(0, 3).Draw(t, "via")),
			}
		}), 1, 4).Draw(t, "streams")
		var b strings.Builder
		w, err := NewWriter(&b, time.Time{}, streams)
		if err != nil {
			t.Fatal(err)
		}
		var want []fact
		now := time.Duration(0)
		for range rapid.IntRange(0, 30).Draw(t, "lines") {
			now += time.Duration(rapid.Int64Range(0, 1e12).Draw(t, "later"))
			f := drawFact(t, w, streams, now)
			if f.stream < 255 {
				want = append(want, f)
			}
		}
		if err := w.End(); err != nil {
			t.Fatal(err)
		}
		if got := facts(t, b.String()); !slices.Equal(got, want) {
			t.Fatalf("got\n%+v\nwant\n%+v\n%s", got, want, b.String())
		}
		checkStreams(t, b.String(), streams)
	})
}

// drawFact writes one thing at a time now; a stream of 255 stands for nothing.
func drawFact(t *rapid.T, w *Writer, streams []Stream, now time.Duration) fact {
	n := uint8(rapid.IntRange(0, len(streams)-1).Draw(t, "stream"))
	f := fact{stream: n, at: now}
	var err error
	switch what := rapid.IntRange(0, 5).Draw(t, "what"); what {
	case 0:
		f.carrier = 1
		err = w.Carrier(n, now, true)
	case 1:
		f.carrier = -1
		err = w.Carrier(n, now, false)
	case 2:
		f.lost = rapid.Int64Range(1, mostLost).Draw(t, "lost")
		err = w.Lost(n, now, f.lost)
	case 3:
		f.stream, err = 255, w.Remark(strings.ReplaceAll(rapid.String().Draw(t, "remark"), "\n", " "))
	default:
		chars := rapid.SliceOfN(rapid.Byte(), 1, 40).Draw(t, "chars")
		var marks []frame.MarkAt
		for i := range chars {
			if m := frame.Mark(rapid.IntRange(0, 30).Draw(t, "mark")) & (frame.Parity | frame.Framing | frame.Gap); m != 0 {
				marks = append(marks, frame.MarkAt{Pos: int64(i), Mark: m})
			}
		}
		f.chars, f.marks = string(chars), saidMarks(marks, 0, 0)
		if err = w.Heard(n, now, chars, marks); streams[n].Times == StartTimes {
			f.at += frame.Characters(int64(len(chars)))
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	if streams[n].Times == NoTimes {
		f.at = -1
	}
	return f
}

// checkStreams looks whether the streams of which something was heard are told as they
// were described.
func checkStreams(t *rapid.T, text string, streams []Stream) {
	rd, _, _ := Open(strings.NewReader(text), "trace.txt", "")
	for rec := new(Record); rd.Next(rec) == nil; {
		want := streams[rec.Stream]
		if got := (Stream{rec.Name, want.Times, rec.Late, rec.Parity, rec.Via}); got != want || rec.Streams != len(streams) {
			t.Fatalf("stream %d of %d is %+v, want %+v of %d", rec.Stream, rec.Streams, got, want, len(streams))
		}
	}
}

// Many characters become several lines, which follow each other without a gap.
func TestManyCharactersAtOnce(t *testing.T) {
	for _, times := range []Times{StartTimes, EndTimes} {
		var b bytes.Buffer
		w, err := NewWriter(&b, time.Time{}, []Stream{{Times: times, Via: Pipe}})
		check(t, err)
		chars := bytes.Repeat([]byte("0123456789"), 200)
		marks := []frame.MarkAt{{Pos: 0, Mark: frame.Parity}, {Pos: 512, Mark: frame.Gap}, {Pos: 1999, Mark: frame.Parity}, {Pos: 2000, Mark: frame.Gap}}
		check(t, w.Heard(0, 30*time.Second, chars, marks), w.Heard(0, 60*time.Second, []byte{0}, nil), w.End())
		rd, _, err := Open(&b, "trace.txt", "")
		check(t, err)
		var got []byte
		var gotMarks []frame.MarkAt
		begin, end := Stamp{}, Stamp{}
		for rec := new(Record); rd.Next(rec) == nil && len(got) < len(chars); {
			if rec.Damage != nil || len(rec.Chars) > mostInLine {
				t.Errorf("%v, %d characters", rec.Damage, len(rec.Chars))
			}
			if end.known && rec.Start.since-end.since > time.Nanosecond {
				t.Errorf("%v of silence inside", rec.Start.since-end.since)
			}
			if end = rec.End; !begin.known {
				begin = rec.Start
			}
			got, gotMarks = append(got, rec.Chars...), append(gotMarks, rec.Marks...)
		}
		if !bytes.Equal(got, chars) || !slices.Equal(gotMarks, marks[:3]) || !near(end.since-begin.since, frame.Characters(2000)) {
			t.Errorf("%d characters, %v, from %v to %v", len(got), gotMarks, begin, end)
		}
		if err := rd.Next(new(Record)); err != io.EOF {
			t.Error(err)
		}
	}
}

func near(a, b time.Duration) bool { return (a - b).Abs() < 10*time.Nanosecond }

// What cannot be read is not written.
func TestWriterRefuses(t *testing.T) {
	var b strings.Builder
	c := begun(t, &b)
	check(t, c.Heard(0, time.Second, []byte{1}, nil))
	before := b.String()
	for _, tt := range []struct {
		err  error
		want string
	}{
		{c.Heard(2, 0, []byte{1}, nil), "stream 2 is not described: there are 2"},
		{c.Heard(0, ms(999), []byte{1}, nil), "stream 0: 999ms lies before 1s, the time of the line in front"},
		{c.Heard(0, -1, []byte{1}, nil), "-1ns is no time of a capture: want 0 to 999999999 s"},
		{c.Lost(0, 1e18, 1), "277777h46m40s is no time of a capture: want 0 to 999999999 s"},
		{c.Carrier(9, 0, true), "stream 9 is not described: there are 2"},
		{c.Remark("one\ntwo"), "text holds the end of a line, want one line"},
		{c.Remark(strings.Repeat("x", 65528)), "line is too long, want at most 65529 bytes"},
		{newWriterError(Stream{Late: -1}), "stream 0 is late by -1ns: want a time from 0 to 999999999 s"},
		{newWriterError(Stream{Times: 3}), "stream 0 has times of kind 3, want 0 to 2"},
		{newWriterError(Stream{Via: 4}), "stream 0 has via of kind 4, want 0 to 3"},
		{newWriterError(make([]Stream, 257)...), "257 streams are too many, want at most 256"},
	} {
		if tt.err == nil || tt.err.Error() != tt.want {
			t.Errorf("got %v, want %s", tt.err, tt.want)
		}
	}
	if b.String() != before {
		t.Errorf("written was %s", b.String()[len(before):])
	}
	longest := strings.Repeat("x", 65527)
	check(t, c.Remark(longest), c.Heard(0, time.Second, []byte{2}, nil), c.End())
	rd, _, err := Open(strings.NewReader(b.String()), "trace.txt", "")
	check(t, err)
	for rec := new(Record); rd.Next(rec) == nil; {
		if rec.Damage != nil {
			t.Error(rec.Damage)
		}
	}
}

func newWriterError(streams ...Stream) error {
	_, err := NewWriter(io.Discard, time.Time{}, streams)
	return err
}

// full is a disk with room for so many bytes.
type full struct {
	strings.Builder
	room int
}

var errFull = errors.New("no space left on device")

func (f *full) Write(b []byte) (int, error) {
	n := min(len(b), f.room)
	f.Builder.Write(b[:n])
	if f.room -= n; n < len(b) {
		return n, errFull
	}
	return n, nil
}

// Wherever the disk is full: behind that, the Writer goes on, and what is damaged is at
// most the line that was torn.
func TestWriterGoesOnWhenThereIsRoomAgain(t *testing.T) {
	var whole strings.Builder
	begun(t, &whole)
	head := whole.Len()
	for room := range 40 {
		disk := &full{room: head + room}
		c := begun(t, disk)
		var want, got []byte
		for i := range byte(4) {
			if i == 2 {
				disk.room = 1000
			}
			if c.Heard(0, 0, []byte{i}, nil) == nil {
				want = append(want, i)
			}
		}
		check(t, c.End())
		rd, _, err := Open(strings.NewReader(disk.String()), "trace.txt", "")
		check(t, err)
		damages := 0
		for rec := new(Record); rd.Next(rec) == nil; {
			if got = append(got, rec.Chars...); rec.Damage != nil {
				damages++
			}
		}
		if !bytes.Equal(got, want) || damages > 1 {
			t.Errorf("room %d: read % x and %d damages, want % x\n%s", room, got, damages, want, disk)
		}
	}
}

func TestAllocationsWriter(t *testing.T) {
	c := begun(t, io.Discard)
	chars := mustHex(t, "ffffffffff86b9020000670 30b0008408000002d400dac085f")
	allocs := testing.AllocsPerRun(1000, func() { check(t, c.Heard(0, time.Second, chars, nil)) })
	if allocs > 0 {
		t.Errorf("%v allocations a line", allocs)
	}
}

func BenchmarkWriter(b *testing.B) {
	var text strings.Builder
	c, _ := NewWriter(&text, time.Time{}, []Stream{{Times: EndTimes}})
	chars := []byte("\xff\xff\xff\xff\xff\x86\xb9\x02\x00\x00\x67\x03\x0b\x00\x08\x40\x80\x00\x00\x2d\x40\x0d\xac\x08\x5f")
	before := text.Len()
	c.Heard(0, 12_345_678*time.Microsecond, chars, nil)
	b.SetBytes(int64(text.Len() - before))
	b.ReportAllocs()
	c.w = io.Discard
	for b.Loop() {
		if err := c.Heard(0, 12_345_678*time.Microsecond, chars, nil); err != nil {
			b.Fatal(err)
		}
	}
}
