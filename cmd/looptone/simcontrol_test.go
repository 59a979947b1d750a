package main

import (
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"
	"testing/iotest"
)

// linesOf are the lines of r; one that is too long is told by its length of 0.
func linesOf(r io.Reader, most int) (lines []string) {
	eachLine(r, most, func(number int, text []byte, whole bool) bool {
		if !whole {
			text = []byte("too long")
		}
		lines = append(lines, fmt.Sprintf("%d: %s", number, text))
		return true
	})
	return lines
}

func TestLinesOfAControl(t *testing.T) {
	long := strings.Repeat("x", 10_000)
	for _, tt := range []struct {
		text string
		most int
		want []string
	}{
		{"", 4, nil},
		{"\n\r\n  \n", 4, nil},
		{"ab\ncd\r\n", 4, []string{"1: ab", "2: cd"}},
		{"\n \nab\n\r\ncd\n", 4, []string{"3: ab", "5: cd"}},
		{"ab\ncd", 4, []string{"1: ab", "2: cd"}},
		{"abcd\nabcde\nab", 4, []string{"1: abcd", "2: too long", "3: ab"}},
		{"abcde", 4, []string{"1: too long"}},
		{long + "\n" + long + "y\nz", 10_000, []string{"1: " + long, "2: too long", "3: z"}},
		{strings.Repeat(" ", 100) + "\nab", 99, []string{"1: too long", "2: ab"}},
		{"a\x00b\n\xff\xfe", 4, []string{"1: a\x00b", "2: \xff\xfe"}},
	} {
		for name, r := range map[string]io.Reader{
			"whole": strings.NewReader(tt.text), "one byte": iotest.OneByteReader(strings.NewReader(tt.text)),
			"data with the end": iotest.DataErrReader(strings.NewReader(tt.text)),
		} {
			if got := linesOf(r, tt.most); !slices.Equal(got, tt.want) {
				t.Errorf("%s, %.20q: got %d lines %.60q, want %.60q", name, tt.text, len(got), got, tt.want)
			}
		}
	}
}

// endless is a line that does not end.
type endless struct{ left int }

func (e *endless) Read(b []byte) (int, error) {
	if e.left -= len(b); e.left < 0 {
		return 0, io.EOF
	}
	for i := range b {
		b[i] = ' '
	}
	return len(b), nil
}

// A line of 100 MB is answered before it ends, once, and nothing of it is kept.
func TestLineWithoutEnd(t *testing.T) {
	const size, most = 100 << 20, 1 << 20
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	r := &endless{left: size}
	told := 0
	eachLine(r, most, func(_ int, _ []byte, whole bool) bool {
		if told++; whole || r.left < size/2 {
			t.Errorf("told with %d of %d bytes left to come", r.left, size)
		}
		return true
	})
	runtime.ReadMemStats(&after)
	if told != 1 {
		t.Errorf("told %d times", told)
	}
	if used := after.TotalAlloc - before.TotalAlloc; used > 8*most {
		t.Errorf("%d bytes were used, want at most %d", used, 8*most)
	}
}

// Who wants no more lines gets none.
func TestLinesEndEarly(t *testing.T) {
	for _, text := range []string{"a\nb\n", "aaaaaaaaaaa\nb"} {
		told := 0
		eachLine(strings.NewReader(text), 10, func(int, []byte, bool) bool { told++; return false })
		if told != 1 {
			t.Errorf("%q: told of %d lines, want 1", fmt.Sprint(text), told)
		}
	}
}
