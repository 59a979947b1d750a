package capture

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
)

// Each way of writing down the request of Buerkert, Type 8605 description of
// communication, p.16.
func TestHexText(t *testing.T) {
	const request = "ff ff 02 80 01 00 83"
	tests := []struct{ name, text string }{
		{"blanks", "ff ff 02 80 01 00 83\n"},
		{"no line end", "ff ff 02 80 01 00 83"},
		{"upper case", "FF FF 02 80 01 00 83"},
		{"run together", "ffff0280010083"},
		{"partly", "ffff 0280 01 0083"},
		{"prefix", "0xff 0xFF 0X02 0x80 0x01 0x00 0X83"},
		{"prefix before all", "0xffff0280010083"},
		{"commas", "0xff, 0xff, 0x02, 0x80, 0x01, 0x00, 0x83,"},
		{"commas alone", "ff,ff,02,80,01,00,83"},
		{"semicolons", "ff;ff; 02 ;80;01;00;83;"},
		{"tabs", "\tff\tff\t02\t80\t01\t00\t83"},
		{"many blanks", "  ff ff    02 80     01 00 83  "},
		{"comments", "# request\n\n  # more\nff ff 02 80 01 00 83 # end ff\n# 00"},
		{"comment without blank", "ff ff 02 80 01 00 83#00"},
		{"CRLF", "ff ff 02 80 01 00 83\r\n\r\n"},
		{"byte order mark", "\ufeffff ff 02 80 01 00 83"},
		{"ASCII column between bars", "ff ff 02 80 01 00 83 |.......|"},
		{"ASCII column behind blanks", "ff ff 02 80 01 00 83  ......."},
		{"other fillers", "ff ff 02 80 01 00 83  ÿÿ·€· ·"},
		{"offset", "0000: ff ff 02 80 01 00 83"},
		{"offset with prefix", "0x0000: ff ff 02 80 01 00 83"},
		{"offset without colon", "000000 ff ff 02 80 01 00 83"},
		{"offset and ASCII column", "0000: ff ff 02 80 01 00 83  ......."},
		{"offset alone on a line", "0000: ff ff 02 80 01 00 83\n0007:\n"},
		{"short offset", "0: ff ff 02 80\n4: 01 00 83"},
		{"decimal offset", "0000: ff ff 02 80 01\n0005: 00\n0006: 83"},
		{"two blanks in the middle", "0000: ff ff 02  80 01 00 83  ......."},
		{"all zero characters are an offset", "000000\tff ff 02 80 01 00 83"},
	}
	for _, tt := range tests {
		for _, as := range []string{"", "hex"} {
			got := readText(tt.text, as)
			if got.err != nil || !bytes.Equal(got.chars, mustHex(t, request)) {
				t.Errorf("%s, as %q: got % x, %v", tt.name, as, got.chars, got.err)
			}
			if len(got.marks) != 0 {
				t.Errorf("%s: marks %v", tt.name, got.marks)
			}
		}
	}
}

func TestDumpsOfGeneralTools(t *testing.T) {
	all := mustHex(t, sample)
	for tool, text := range dumps {
		want := all
		if strings.Contains(tool, "-s 16") {
			want = all[16:]
		}
		for _, ends := range []string{"\n", "\r\n"} {
			text := strings.ReplaceAll(text, "\n", ends)
			got := readText(text, "")
			if got.err != nil || !bytes.Equal(got.chars, want) {
				t.Errorf("%s: %v, got\n% x, want\n% x", tool, got.err, got.chars, want)
			}
			if dump := !strings.Contains(tool, "-p") && !strings.Contains(tool, "-A n"); dump != (got.what == "hex dump with offsets") || dump && len(got.marks) > 0 {
				t.Errorf("%s: %q, marks %v", tool, got.what, got.marks)
			}
			checkPlaces(t, text, got)
		}
	}
}

// checkPlaces looks up each character where its place says that it is.
func checkPlaces(t *testing.T, text string, got result) {
	t.Helper()
	lines := strings.Split(text, "\n")
	for i, p := range got.places {
		at := lines[p.Line-1][p.Column-1:]
		if want := fmt.Sprintf("%02x", got.chars[i]); at[0] != '*' && !strings.EqualFold(at[:2], want) {
			t.Errorf("character %d at %v: got %s, want %s", i, p, at[:2], want)
			return
		}
	}
}

func TestWordsOfUnknownOrderAreRefused(t *testing.T) {
	for tool, text := range words {
		for _, as := range []string{"", "hex"} {
			got := readText(text, as)
			if !errors.Is(got.err, errWords) || len(got.chars) > 0 {
				t.Errorf("%s as %q: got %v, % x", tool, as, got.err, got.chars)
			}
		}
	}
	want := `trace.txt:1:9: "ffff" holds several bytes in an order that depends on the machine: ` +
		`want single bytes, as od -t x1 and hexdump -C write them`
	if got := readText(words["hexdump"], ""); got.err == nil || got.err.Error() != want {
		t.Errorf("got %v, want %s", got.err, want)
	}
}

func TestLineMarks(t *testing.T) {
	line := func(at ...int64) (marks []frame.MarkAt) {
		for _, pos := range at {
			marks = append(marks, frame.MarkAt{Pos: pos, Mark: frame.Line})
		}
		return marks
	}
	tests := []struct {
		name, text string
		want       []frame.MarkAt
	}{
		{"one line", "ff 02", nil},
		{"three", "ff 02\n03\n04 05\n", line(2, 3)},
		{"empty lines and comments between", "# a\nff 02\n\n# b\n\n03\n#c", line(2)},
		{"comment lines first", "# a\n\nff 02\n03", line(2)},
		{"dump", "0000: ff 02\n0002: 03\n", nil},
		{"another dump", "0000: ff 02\n0002: 03\n0000: 04\n0001: 05", []frame.MarkAt{{Pos: 3, Mark: frame.Cut}}},
		{"a dump a message", "0000: ff 02\n\n0000: 03\n0000: 04",
			[]frame.MarkAt{{Pos: 2, Mark: frame.Cut}, {Pos: 3, Mark: frame.Cut}}},
		{"long line", strings.Repeat("ff ", 3*maxRecord) + "\n02", line(3 * maxRecord)},
	}
	for _, tt := range tests {
		if got := readText(tt.text, "hex"); got.err != nil || !slices.Equal(got.marks, tt.want) {
			t.Errorf("%s: got %v, %v, want %v", tt.name, got.marks, got.err, tt.want)
		}
	}
}

func TestPlaces(t *testing.T) {
	got := readText("# a\r\n ff 0x0280,01\n\n0083", "hex")
	want := []string{"2:2", "2:7", "2:9", "2:12", "4:1", "4:3"}
	for i, p := range got.places {
		if p.String() != "trace.txt:"+want[i] {
			t.Errorf("character %d: got %v, want %s", i, p, want[i])
		}
	}
	if len(got.places) != len(want) || got.err != nil {
		t.Errorf("%d places, %v", len(got.places), got.err)
	}
}

func TestHexErrors(t *testing.T) {
	long := strings.Repeat("ff", 5000)
	tests := []struct{ name, text, want string }{
		{"no digit", "ff\n02\nff ff fz", `3:7: "fz" is no hex byte: want two hex digits`},
		{"word", "ff hello", `1:4: "he" is no hex byte: want two hex digits`},
		{"one letter", "ff x", `1:4: "x" is no hex byte: want two hex digits`},
		{"inside a run", "ff02zz80", `1:5: "zz" is no hex byte: want two hex digits`},
		{"other alphabet", "ff \u00fc\u00fc", `1:4: "üü" is no hex byte: want two hex digits`},
		{"binary", "ff \x00\xfe", `1:4: "\x00\xfe" is no hex byte: want two hex digits`},
		{"odd", "ff ff ff ff0", `1:10: odd number of hex digits in "ff0"`},
		{"odd before a comma", "f, ff", `1:1: odd number of hex digits in "f"`},
		{"odd with a prefix", "0xf", `1:1: odd number of hex digits in "0xf"`},
		{"odd and long", "# a\n" + long + "f", `2:1: odd number of hex digits in "ffffffffffffffff"…`},
		{"bad and long", long + "fz", `1:10001: "fz" is no hex byte: want two hex digits`},
		{"prefix alone", "ff 0x", `1:4: "0x" is no hex byte: want two hex digits`},
		{"prefix twice", "0x0x", `1:3: "0x" is no hex byte: want two hex digits`},
		{"bar first", "|ff|", `1:1: "|f" is no hex byte: want two hex digits`},
		{"ASCII column of something else", "41 42  AZ", `1:8: "AZ" is no hex byte: want two hex digits`},
		{"ASCII column too long", "41 42  AB.", `1:10: "." is no hex byte: want two hex digits`},
		{"behind one blank", "41 42 .B", `1:7: ".B" is no hex byte: want two hex digits`},
		{"offset later", "ff 02\n0002: 03", `2:5: ":" is no hex byte: want two hex digits`},
		{"offset missing", "0000: ff 02\nff 02", `2:1: no offset before "ff": want one, as on the first line`},
		{"offset jumps", "0000: ff 02\n0003: 04", `2:1: offset 0003 does not continue the line before: want 0002`},
		{"offset jumps behind decimal ones", "9: ff\n10: 02\n12: 04", `3:1: offset 12 does not continue the line before: want 11`},
		{"bits", "00000000: 11111111 11111111\n00000002: 11111111", `2:1: offset 00000002 does not continue the line before: want 00000008`},
		{"star at the end", "0000: ff 02\n*\n", `2:1: "*" stands for repeated lines: want an offset behind it that tells how many`},
		{"star first", "0000:\n*\n0004: ff", `2:1: "*" repeats the line before it: want one, of at most 256 characters`},
		{"star in plain text", "ff 02\n*\n", `2:1: "*" is no hex byte: want two hex digits`},
		{"star that does not fit", "000000 ff 02\n*\n000005 ff", `3:1: offset 000005 does not fit the "*" before it: want a multiple of its 2 characters`},
		{"star of two meanings", "0000000" + strings.Repeat(" ff", 16) + "\n*\n0000160 02",
			`3:1: "*" before offset 0000160 stands for 96 or 144 characters: want every line in the dump (option -v of od and hexdump)`},
		{"star for too much", "00000000 ff 02\n*\nfffffff0 ff", `3:1: "*" before offset fffffff0 stands for 4294967278 characters, want at most 1048576`},
	}
	for _, tt := range tests {
		got := readText(tt.text, "hex")
		var syntax *SyntaxError
		if !errors.As(got.err, &syntax) || got.err.Error() != "trace.txt:"+tt.want {
			t.Errorf("%s:\ngot  %v\nwant trace.txt:%s", tt.name, got.err, tt.want)
		}
	}
}

func TestCharactersBeforeAnErrorAreDelivered(t *testing.T) {
	got := readText("ff ff\n02 80 zz", "hex")
	if got.err == nil || !bytes.Equal(got.chars, mustHex(t, "ffff0280")) {
		t.Errorf("got % x, %v", got.chars, got.err)
	}
}

// The published frames can be parsed once they are read.
func TestPublishedFrames(t *testing.T) {
	frames := []struct{ text, source string }{
		{"02 80 92 05 01 42 48 00 00 1E", "Buerkert, Type 8605 description of communication, p.23"},
		{"06 80 01 07 00 00 39 41 C8 00 00 30", "Buerkert, Type 8605 description of communication, p.16"},
		{"82 BE 02 0C 77 37 23 09 20 44 16 00 00 C3 16 00 00 FF", "Spectrum Controls manual 0300215-03, table 7-20"},
	}
	for _, f := range frames {
		got := readText(f.text, "")
		if _, err := frame.Parse(got.chars); err != nil || got.err != nil {
			t.Errorf("%s (%s): %v, %v", f.text, f.source, got.err, err)
		}
	}
}

func TestStamps(t *testing.T) {
	var rec Record
	rd, _, err := Open(strings.NewReader("ff"), "trace.txt", "")
	if err != nil || rd.Next(&rec) != nil {
		t.Fatal(err)
	}
	if _, known := rec.Start.Since(); known || rec.Start != rec.End {
		t.Error("hex text has times")
	}
	if since, known := After(5).Since(); !known || since != 5 {
		t.Errorf("got %v, %v", since, known)
	}
}
