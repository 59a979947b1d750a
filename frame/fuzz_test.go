package frame_test

import (
	"encoding/binary"
	"maps"
	"slices"
	"testing"

	diff "github.com/google/go-cmp/cmp"

	"looptone/frame"
)

// FuzzDecoder takes characters, and a script that puts marks on them and
// divides them: three bytes a step, what and where.
func FuzzDecoder(f *testing.F) {
	for _, v := range readVectors(f) {
		f.Add(v.Chars, scriptOf(v.Marks), true)
		f.Add(v.Chars, scriptOf(v.Marks), false)
	}
	f.Fuzz(func(t *testing.T, chars, script []byte, bare bool) {
		if len(chars) > 4096 || len(script) > 3*256 {
			return
		}
		marks, cuts := readScript(script, len(chars))
		checkDecoder(t, chars, marks, bare, cuts)
	})
}

// scriptMarks are the steps of a script that put a mark; any other divides.
var scriptMarks = []frame.Mark{frame.Parity, frame.Framing, frame.Gap, frame.Line, frame.Cut}

func scriptOf(marks []frame.MarkAt) (script []byte) {
	for _, m := range marks {
		for what, mark := range scriptMarks {
			if m.Mark&mark != 0 {
				script = append(script, byte(what), byte(m.Pos>>8), byte(m.Pos))
			}
		}
	}
	return script
}

func readScript(script []byte, n int) (marks []frame.MarkAt, cuts []int) {
	at := map[int]frame.Mark{}
	for step := range slices.Chunk(script, 3) {
		if len(step) < 3 {
			break
		}
		what, pos := int(step[0]), int(binary.BigEndian.Uint16(step[1:]))%(n+1)
		switch {
		case what >= len(scriptMarks):
			cuts = append(cuts, pos)
		case pos < n || what >= 2: // only what stands before a character may stand behind the last
			at[pos] |= scriptMarks[what]
		}
	}
	for _, pos := range slices.Sorted(maps.Keys(at)) {
		marks = append(marks, frame.MarkAt{Pos: int64(pos), Mark: at[pos]})
	}
	slices.Sort(cuts)
	return marks, cuts
}

// failer is what testing and rapid have in common.
type failer interface {
	Helper()
	Errorf(format string, args ...any)
}

// checkDecoder holds the decoder to its contract on one stream.
func checkDecoder(t failer, chars []byte, marks []frame.MarkAt, bare bool, cuts []int) {
	t.Helper()
	whole := decode(chars, marks, bare, division{})
	checkPartition(t, chars, whole)
	checkSameBytes(t, whole)
	every := everyCharacter(len(chars))
	for _, by := range []division{{cuts, false}, {cuts, true}, {every, false}, {every, true}} {
		if d := diff.Diff(whole, decode(chars, marks, bare, by), eventOptions); d != "" {
			t.Errorf("%+v changes the events: %s\n%x %v bare %t", by, d, chars, marks, bare)
			return
		}
	}
	if d := diff.Diff(newReference(chars, marks, bare).events(), whole, eventOptions); d != "" {
		t.Errorf("reference (-) and decoder (+) differ: %s\n%x %v bare %t", d, chars, marks, bare)
	}
}

// checkPartition: every event covers something, they touch, and together they
// are the stream.
func checkPartition(t failer, chars []byte, events []frame.Event) {
	t.Helper()
	var at int64
	for i, ev := range events {
		if begin := ev.Start - int64(ev.Preambles); begin != at || ev.End <= begin || ev.Start > ev.End {
			t.Errorf("event %d covers %d-%d-%d, want it to begin at %d and to hold a character", i, begin, ev.Start, ev.End, at)
			return
		}
		at = ev.End
		if at > int64(len(chars)) || !slices.Equal(ev.Raw, chars[ev.Start:ev.End]) {
			t.Errorf("event %d: raw is %x, which the stream does not hold at %d to %d", i, ev.Raw, ev.Start, ev.End)
			return
		}
	}
	if at != int64(len(chars)) {
		t.Errorf("events end at %d, the stream at %d", at, len(chars))
	}
}

func checkSameBytes(t failer, events []frame.Event) {
	t.Helper()
	for i, ev := range events {
		if ev.Outcome != frame.Whole {
			continue
		}
		if again, err := ev.Frame.AppendBinary(nil); err != nil || !slices.Equal(again, ev.Raw) {
			t.Errorf("event %d encodes to %x (%v), want %x", i, again, err, ev.Raw)
		}
	}
}
