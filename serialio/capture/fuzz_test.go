package capture

import (
	"bytes"
	"encoding/hex"
	"io"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
)

// divided gives b in reads of every size.
func divided(b []byte) map[string]io.Reader {
	return map[string]io.Reader{
		"one byte a read":   iotest.OneByteReader(bytes.NewReader(b)),
		"half reads":        iotest.HalfReader(bytes.NewReader(b)),
		"data with the end": iotest.DataErrReader(bytes.NewReader(b)),
		"random reads":      &randomReader{bytes.NewReader(b), rand.New(rand.NewPCG(1, uint64(len(b))))},
	}
}

type randomReader struct {
	r    io.Reader
	rand *rand.Rand
}

func (r *randomReader) Read(b []byte) (int, error) {
	return r.r.Read(b[:min(len(b), 1+r.rand.IntN(3000))])
}

// checkDivisions reads b whole and in parts; all must yield the same.
func checkDivisions(t *testing.T, b []byte, as string) result {
	t.Helper()
	want := readAll(bytes.NewReader(b), as)
	for division, r := range divided(b) {
		got := readAll(r, as)
		if !sameError(got.err, want.err) {
			t.Errorf("%s, as %q: got %v, want %v", division, as, got.err, want.err)
		}
		got.err = want.err
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s, as %q: got %d characters, marks %v, %q; want %d, %v, %q", division, as,
				len(got.chars), got.marks, got.what, len(want.chars), want.marks, want.what)
		}
	}
	return want
}

func sameError(a, b error) bool {
	return a == nil && b == nil || a != nil && b != nil && a.Error() == b.Error()
}

func TestEveryDivisionReadsTheSame(t *testing.T) {
	texts := []string{
		strings.Repeat("ff02 ", 3000) + "# " + strings.Repeat("comment ", 2000) + "\n80",
		strings.Repeat("ff", 20000) + "f",
		strings.Repeat("ff", 20000) + "zz",
		strings.Repeat(" ", 5000) + "0000: ff" + strings.Repeat(" ", 9000) + "02\n" + strings.Repeat(" ", 5000) + "0002: 80",
		"0000: " + strings.Repeat("41", column) + "  " + strings.Repeat("A", column) + "\n0100: 41",
		"0000: " + strings.Repeat("00", column) + "  " + strings.Repeat("€", column) + "\n0100: 41",
		"0000: " + strings.Repeat("00", column) + "  " + strings.Repeat("\U0001f980", column),
		"0000: " + strings.Repeat("00", column) + "  " + strings.Repeat("\U0001f980", column) + "     \n",
		"0000: 41 42  AB" + strings.Repeat(" ", 70000) + "\n0002: 43",
		"0000: 41\n*" + strings.Repeat(" ", 70000) + "zz\n5000: 43",
		strings.Repeat("\n# a\n", 2000) + "ff",
	}
	for _, text := range dumps {
		texts = append(texts, text)
	}
	for _, text := range texts {
		for _, as := range []string{"", "raw", "hex"} {
			checkDivisions(t, []byte(text), as)
		}
	}
}

// digitsOf is the cleaned digits of text without offsets and ASCII columns:
// an independent reading for text in which nothing but comments, prefixes and
// what stands between bytes was added.
func digitsOf(text string) string {
	var b strings.Builder
	for line := range strings.Lines(text) {
		line, _, _ = strings.Cut(line, "#")
		line, _, _ = strings.Cut(line, "|")
		line, _, _ = strings.Cut(line, ">")
		for _, word := range strings.FieldsFunc(line, func(r rune) bool { return strings.ContainsRune(" \t\r\n,;", r) }) {
			word = strings.TrimPrefix(word, "0x")
			b.WriteString(strings.TrimPrefix(word, "0X"))
		}
	}
	return b.String()
}

func FuzzOpen(f *testing.F) {
	for _, text := range dumps {
		f.Add([]byte(text), "")
	}
	for _, text := range words {
		f.Add([]byte(text), "hex")
	}
	for _, text := range []string{"ff ff 02 80", "0xff,0XFF;02\r\n# a\n80", "000000 41 42  AB\n*\n000006 43",
		"\ufefff0f0", "\xff\xfef\x00f\x00", "ff0", "ff fz", "9: ff\n10: 02", "00 |.| 11", "0x0x"} {
		f.Add([]byte(text), "hex")
	}
	f.Fuzz(func(t *testing.T, b []byte, as string) {
		got := checkDivisions(t, b, as)
		if len(got.places) != len(got.chars) {
			t.Fatalf("%d places for %d characters", len(got.places), len(got.chars))
		}
		text := strings.HasPrefix(got.what, "raw") || strings.HasPrefix(got.what, "hex") // one stream, and marks between characters only
		for _, m := range got.marks {
			if text && m.Pos <= 0 || m.Pos >= int64(len(got.chars)) {
				t.Errorf("mark %v, %d characters", m, len(got.chars))
			}
		}
		switch {
		case got.err != nil:
		case strings.HasPrefix(got.what, "raw"):
			if !bytes.Equal(got.chars, b) {
				t.Error("raw bytes were changed")
			}
		case got.what == "hex text":
			checkDigits(t, strings.TrimPrefix(string(b), "\ufeff"), got)
		}
	})
}

// checkDigits compares with encoding/hex, except for text that may have an
// ASCII column behind blanks, and looks up each character in the text.
func checkDigits(t *testing.T, text string, got result) {
	t.Helper()
	checkPlaces(t, text, got)
	if want, err := hex.DecodeString(digitsOf(text)); err != nil {
		if !strings.Contains(text, "  ") && !strings.ContainsAny(text, "\t\r") {
			t.Errorf("%q: encoding/hex says %v", text, err)
		}
	} else if !bytes.Equal(got.chars, want) {
		t.Errorf("%q: got % x, encoding/hex says % x", text, got.chars, want)
	}
}

func FuzzDumpRoundTrip(f *testing.F) {
	f.Add(mustDecode(sample))
	f.Add([]byte("33  33"))
	f.Add(bytes.Repeat([]byte{0}, 100))
	f.Add([]byte("f0 f1 |f2| >f3< # ff"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if len(b) == 0 {
			return
		}
		// hex.Dump of the standard library prints what hexdump -C does.
		got := readText(hex.Dump(b), "")
		if got.err != nil || got.what != "hex dump with offsets" || !bytes.Equal(got.chars, b) || len(got.marks) > 0 {
			t.Errorf("%v, %q, marks %v, got\n% x, want\n% x", got.err, got.what, got.marks, got.chars, b)
		}
	})
}

func mustDecode(s string) []byte {
	b, err := hex.DecodeString(s)
	if err != nil {
		panic(err)
	}
	return b
}
