package serialio

import (
	"bytes"
	"encoding/hex"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
)

// What a tty says with PARMRK set. Source: POSIX.1, General Terminal Interface, Input
// Modes.
var escapes = []struct{ name, tty, chars, marks string }{
	{"nothing", "", "", ""},
	{"plain", "02 80 00 fe", "02 80 00 fe", ""},
	{"FF", "ff ff", "ff", ""},
	{"a preamble", "ff ff ff ff ff ff 02", "ff ff ff 02", ""},
	{"parity", "ff 00 41", "41", "0 parity"},
	{"parity of FF", "ff 00 ff", "ff", "0 parity"},
	{"break", "ff 00 00", "00", "0 framing"},
	{"FF, then parity", "ff ff ff 00 41", "ff 41", "1 parity"},
	{"parity of FF, then FF", "ff 00 ff ff ff", "ff ff", "0 parity"},
	{"parity of FF, then plain", "ff 00 ff 00", "ff 00", "0 parity"},
	{"two", "ff 00 41 42 ff 00 43", "41 42 43", "0 parity, 2 parity"},
	{"break within a message", "02 ff 00 00 00 03", "02 00 00 03", "1 framing"},
	{"begins in the middle", "00 41", "00 41", ""},
	{"what no tty says", "ff 41", "ff 41", ""},
	{"FF that is not complete", "02 ff", "02", ""},
	{"mark that is not complete", "02 ff 00", "02", ""},
}

func TestUnescaping(t *testing.T) {
	for _, tt := range escapes {
		tty, want := unhex(t, tt.tty), unhex(t, tt.chars)
		for _, cuts := range divisions(len(tty)) {
			chars, marks := unescape(tty, cuts)
			if !bytes.Equal(chars, want) || words(marks) != tt.marks {
				t.Errorf("%s, cut at %v: got % x with marks %q, want % x with %q",
					tt.name, cuts, chars, words(marks), want, tt.marks)
			}
		}
	}
}

func unhex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func words(marks []frame.MarkAt) string {
	var all []string
	for _, m := range marks {
		all = append(all, string(rune('0'+m.Pos))+" "+m.Mark.String())
	}
	return strings.Join(all, ", ")
}

// divisions are all ways to cut n bytes into reads.
func divisions(n int) (all [][]int) {
	for set := range 1 << max(n-1, 0) {
		var cuts []int
		for i := range n - 1 {
			if set&(1<<i) != 0 {
				cuts = append(cuts, i+1)
			}
		}
		all = append(all, cuts)
	}
	return all
}

// unescape reads tty in parts. Pos of the marks counts from the first of all characters.
func unescape(tty []byte, cuts []int) (chars []byte, marks []frame.MarkAt) {
	var u unescaper
	from := 0
	for _, to := range append(slices.Clone(cuts), len(tty)) {
		c, m := u.take(tty[from:to])
		for _, mark := range m {
			if mark.Pos < 0 || mark.Pos >= int64(len(c)) {
				panic("a mark on no character of its read")
			}
			mark.Pos += int64(len(chars))
			marks = append(marks, mark)
		}
		chars = append(chars, c...)
		from = to
	}
	return chars, marks
}

// escaped is what a tty says of chars, of which those in bad have errors. It is written
// from POSIX, not from the code under test.
func escaped(chars []byte, bad func(int) bool) (tty []byte, marks []frame.MarkAt) {
	for i, c := range chars {
		switch {
		case bad(i) && c == 0:
			tty, marks = append(tty, 0xff, 0, 0), append(marks, frame.MarkAt{Pos: int64(i), Mark: frame.Framing})
		case bad(i):
			tty, marks = append(tty, 0xff, 0, c), append(marks, frame.MarkAt{Pos: int64(i), Mark: frame.Parity})
		case c == 0xff:
			tty = append(tty, 0xff, 0xff)
		default:
			tty = append(tty, c)
		}
	}
	return tty, marks
}

// FuzzUnescape: what a tty says of any characters gives them back, marks included, in
// any reads; and whatever it says, the division into reads changes nothing.
func FuzzUnescape(f *testing.F) {
	for _, tt := range escapes {
		b, err := hex.DecodeString(strings.ReplaceAll(tt.tty, " ", ""))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b, uint64(0b1011), uint64(0b101))
	}
	f.Fuzz(func(t *testing.T, b []byte, bad, cut uint64) {
		wrong := func(i int) bool { return bad>>(i%64)&1 != 0 }
		tty, marks := escaped(b, wrong)
		gotChars, gotMarks := unescape(tty, cutsOf(len(tty), cut))
		if !bytes.Equal(gotChars, b) || !slices.Equal(gotMarks, marks) {
			t.Fatalf("% x, said % x: got % x, %v, want marks %v", b, tty, gotChars, gotMarks, marks)
		}
		whole, wholeMarks := unescape(b, nil)
		parts, partMarks := unescape(b, cutsOf(len(b), cut))
		if !bytes.Equal(whole, parts) || !slices.Equal(wholeMarks, partMarks) {
			t.Fatalf("% x: in one read % x %v, in parts % x %v", b, whole, wholeMarks, parts, partMarks)
		}
	})
}

func cutsOf(n int, set uint64) (cuts []int) {
	for i := 1; i < n; i++ {
		if set>>(i%64)&1 != 0 {
			cuts = append(cuts, i)
		}
	}
	return cuts
}
