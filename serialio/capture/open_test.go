package capture

import (
	"bytes"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf16"
)

func TestDetection(t *testing.T) {
	request := "\xff\xff\x02\x80\x01\x00\x83"
	tests := []struct{ name, text, what string }{
		{"bytes", request, "raw bytes"},
		{"hex", "ff ff 02", "hex text"},
		{"dump", "0000: ff ff 02", "hex dump with offsets"},
		{"digits, even", "12345678", "hex text"},
		{"digits, odd", "1234567", `raw bytes (no hex text: line 1, column 1: odd number of hex digits in "1234567")`},
		{"text", "Time: 12", `raw bytes (no hex text: line 1, column 1: "Ti" is no hex byte: want two hex digits)`},
		{"text behind hex", "ff ff\nü", `raw bytes (no hex text: line 2, column 1: "ü" is no hex byte: want two hex digits)`},
		{"bytes behind hex", "ff ff\n\x02\x80", "raw bytes"},
		{"dump with something else in it", "0000: ff ff\n0002: zz", "hex dump with offsets"},
		{"numbered text", "12: hello", `raw bytes (no hex text: line 1, column 3: ":" is no hex byte: want two hex digits)`},
		{"only a comment", "# nothing yet\n", "hex text"},
		{"only line ends", "\n\n", "raw bytes"},
		{"preamble that lost a bit", "\xff\xfe\xff\x02\x80\x01\x00\x83", "raw bytes"},
		{"two such characters", "\xfe\xff", "raw bytes"},
		{"hex, then bytes far behind", strings.Repeat("ff ", chunk/3+1) + request, "hex text"},
		{"one long run", strings.Repeat("ff", chunk), "hex text"},
		{"one long odd run", strings.Repeat("ff", 100) + "f",
			`raw bytes (no hex text: line 1, column 1: odd number of hex digits in "ffffffffffffffff"…)`},
		{"a chunk that ends inside a token", strings.Repeat("ff\n", chunk/3+1), "hex text"},
		{"a chunk of comments", strings.Repeat("# nothing\n", chunk/10+1) + "ff", "hex text"},
		{"a chunk of line ends", strings.Repeat("\n", chunk) + "ff", "raw bytes"},
	}
	for _, tt := range tests {
		got := readText(tt.text, "")
		if got.what != tt.what {
			t.Errorf("%s: got %s, want %s", tt.name, got.what, tt.what)
		}
		if strings.HasPrefix(tt.what, "raw") && string(got.chars) != tt.text {
			t.Errorf("%s: got % x, %v", tt.name, got.chars, got.err)
		}
	}
}

func TestForcedFormat(t *testing.T) {
	if got := readText("12 34", "raw"); string(got.chars) != "12 34" || got.what != "raw bytes" || got.err != nil {
		t.Errorf("raw: got %q, %q, %v", got.chars, got.what, got.err)
	}
	if got := readText("Time: 12", "hex"); got.err == nil || got.what != "hex text" {
		t.Errorf("hex: got %q, %v", got.what, got.err)
	}
	want := `unknown format "tape": want ` + FormatList()
	if got := readText("ff", "tape"); got.err == nil || got.err.Error() != want {
		t.Errorf("got %v, want %s", got.err, want)
	}
}

func TestWhatIsNoCapture(t *testing.T) {
	for _, as := range []string{"", "raw", "hex"} {
		if got := readText("", as); !errors.Is(got.err, ErrEmpty) || got.err.Error() != "trace.txt is empty" {
			t.Errorf("nothing, as %q: got %v", as, got.err)
		}
		if got := readText("\ufeff\n", as); errors.Is(got.err, ErrEmpty) {
			t.Errorf("a line end, as %q: got %v", as, got.err)
		}
	}
	for _, order := range []string{"little", "big"} {
		text := inUTF16("\ufeffff ff 02\r\n80 01 00 83", order == "big")
		for _, as := range []string{"", "hex"} {
			got := readText(text, as)
			if !errors.Is(got.err, ErrUTF16) || got.err.Error() != "trace.txt is UTF-16 text: want it saved as UTF-8" {
				t.Errorf("UTF-16, %s end first, as %q: got %v", order, as, got.err)
			}
		}
		if got := readText(text, "raw"); string(got.chars) != text || got.err != nil {
			t.Errorf("UTF-16 as raw: got %v", got.err)
		}
	}
}

func inUTF16(s string, bigEndian bool) string {
	var b []byte
	for _, unit := range utf16.Encode([]rune(s)) {
		if bigEndian {
			b = append(b, byte(unit>>8), byte(unit))
		} else {
			b = append(b, byte(unit), byte(unit>>8))
		}
	}
	return string(b)
}

func TestRawPlaces(t *testing.T) {
	all := bytes.Repeat([]byte{0xff, 0x02}, chunk)
	got := readAll(bytes.NewReader(all), "raw")
	for i, p := range got.places {
		if p != (Position{File: "trace.txt", Byte: int64(i)}) {
			t.Fatalf("byte %d: got %+v", i, p)
		}
	}
	if !bytes.Equal(got.chars, all) || len(got.places) != len(all) {
		t.Error("bytes were lost")
	}
	if s := got.places[17].String(); s != "trace.txt: byte 17" {
		t.Errorf("got %s", s)
	}
}

var errBroken = &os.PathError{Op: "read", Path: "/mnt/trace.txt", Err: errors.New("stick was pulled")}

func TestErrorsOfTheReaderAreNotDressedUp(t *testing.T) {
	const want = "read trace.txt: stick was pulled"
	tests := []struct {
		as, text, chars string
	}{
		{"raw", "\xff\xff", "\xff\xff"},
		{"hex", "ff ff\n02\n80 0", "\xff\xff\x02"}, // the last line may go on
		{"", "ff ff\n02\n80 0", "\xff\xff\x02"},
		{"", "\xff\xff", "\xff\xff"},
		{"", "", ""},
		{"hex", "0000: ff\n*\n", "\xff"},
	}
	for _, tt := range tests {
		got := readAll(io.MultiReader(strings.NewReader(tt.text), iotest.ErrReader(errBroken)), tt.as)
		if got.err == nil || got.err.Error() != want || string(got.chars) != tt.chars {
			t.Errorf("%q as %q: got % x, %v", tt.text, tt.as, got.chars, got.err)
		}
	}
}

type emptyReads struct{}

func (emptyReads) Read([]byte) (int, error) { return 0, nil }

func TestReaderThatReadsNothing(t *testing.T) {
	if got := readAll(emptyReads{}, ""); !errors.Is(got.err, io.ErrNoProgress) {
		t.Errorf("got %v", got.err)
	}
}

// A logger that is still writing: lines come out as they come in.
func TestForcedHexDoesNotWaitForMore(t *testing.T) {
	r, w := io.Pipe()
	defer w.Close()
	go w.Write([]byte("ff ff 02\n80"))
	rd, _, err := Open(r, "trace.txt", "hex")
	if err != nil {
		t.Fatal(err)
	}
	var rec Record
	if err := rd.Next(&rec); err != nil || !bytes.Equal(rec.Chars, []byte{0xff, 0xff, 0x02}) {
		t.Errorf("got % x, %v", rec.Chars, err)
	}
}
