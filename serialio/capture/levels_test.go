package capture

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"looptone/frame"
)

// onWire is a character of a wire, as a reader finds it or a talker sent it.
type onWire struct {
	at    time.Duration
	char  byte
	marks frame.Mark
}

// made is what an independent program has made: levels, and what was sent by them.
func made(t *testing.T, format string, seed int, clock float64) (levels string, sent map[string][]onWire) {
	t.Helper()
	python, err := exec.LookPath("python3")
	if err != nil {
		leaveOut(t, err)
	}
	levels = filepath.Join(t.TempDir(), "levels")
	characters := filepath.Join(t.TempDir(), "characters")
	cmd := exec.Command(python, "-I", filepath.Join("testdata", "levels", "levels.py"), format, strconv.Itoa(seed), fmt.Sprint(clock), levels, characters)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text, err := os.ReadFile(characters)
	if err != nil {
		t.Fatal(err)
	}
	sent = map[string][]onWire{}
	for line := range strings.Lines(string(text)) {
		words := strings.Fields(line)
		var c onWire
		if _, err := fmt.Sscanf(words[1]+" "+words[2], "%d %x", &c.at, &c.char); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		marks := map[string]frame.Mark{"parity": frame.Parity, "framing": frame.Framing, "break": frame.Framing, "gap": frame.Gap, "cut": frame.Cut}
		for _, word := range words[3:] {
			c.marks |= marks[word]
		}
		sent[words[0]] = append(sent[words[0]], c)
	}
	return levels, sent
}

// onWires are the characters of a capture, by their stream.
func onWires(t *testing.T, r io.Reader, o Options) (found map[string][]onWire, what string) {
	t.Helper()
	rd, what, err := OpenWith(r, "trace", o)
	if err != nil {
		t.Fatal(err)
	}
	found = map[string][]onWire{}
	pos := map[uint8]int64{}
	for rec := new(Record); ; {
		if err := rd.Next(rec); err == io.EOF {
			return found, what
		} else if err != nil {
			t.Fatal(err)
		}
		if len(rec.Chars) != 1 || !rec.Parity || rec.Place.Line == 0 {
			t.Fatalf("got %+v", rec)
		}
		at, _ := rec.Start.Since()
		c := onWire{at: at, char: rec.Chars[0]}
		for _, m := range rec.Marks {
			if c.marks |= m.Mark; m.Pos != pos[rec.Stream] {
				t.Fatalf("mark at %d, want %d", m.Pos, pos[rec.Stream])
			}
		}
		pos[rec.Stream]++
		found[rec.Name] = append(found[rec.Name], c)
	}
}

// TestLevels reads what an independent program has made: with clocks that are right
// and wrong, glitches, and characters with wrong parity and stop bits, alone and one
// behind the other. All must be found, and none else.
func TestLevels(t *testing.T) {
	for _, tt := range []struct {
		format  string
		options Options
		step    time.Duration // of times
		what    string
		names   map[string]string
	}{
		{format: "vcd", step: 100, what: "VCD: characters of 1200 bit/s, 8 bits, odd parity, in rx, tx"},
		{format: "vcd", step: 100, options: Options{Columns: "level=bench.rx,level=bus[3]"},
			what:  "VCD: characters of 1200 bit/s, 8 bits, odd parity, in bench.rx, bus[3]",
			names: map[string]string{"rx": "bench.rx", "tx": "bus[3]"}},
		{format: "edges", step: 1, what: "CSV of levels: time in column 1 (s), levels in column 2 (rx), 3 (tx); read as 1200 bit/s, 8 bits, odd parity"},
		{format: "samples", step: 20_000, what: "CSV of levels: time in column 1 (s), levels in column 2 (rx), 3 (tx); read as 1200 bit/s, 8 bits, odd parity"},
		{format: "inverted", step: 20_000, options: Options{Inverted: true},
			what:  "CSV of levels: time in column 1 (ms), levels in column 2 (first wire), 3 (second wire), inverted; read as 1200 bit/s, 8 bits, odd parity",
			names: map[string]string{"rx": "first wire", "tx": "second wire"}},
	} {
		for i, clock := range []float64{0, 0.02, -0.02} {
			t.Run(fmt.Sprint(tt.what[:10], tt.format, clock), func(t *testing.T) {
				file, sent := made(t, tt.format, 1+i, clock)
				f, err := os.Open(file)
				if err != nil {
					t.Fatal(err)
				}
				defer f.Close()
				found, what := onWires(t, f, tt.options)
				if what != tt.what {
					t.Errorf("got  %s\nwant %s", what, tt.what)
				}
				for name, want := range sent {
					if tt.names != nil {
						name = tt.names[name]
					}
					compareWires(t, name, found[name], want, tt.step)
				}
				if len(found) != len(sent) {
					t.Errorf("got %d streams", len(found))
				}
			})
		}
	}
}

// compareWires compares what was found with what was sent. Where a character follows a
// wrong stop bit at once, nothing marks its beginning: it is reckoned, and wrong by as
// much as the clock is.
func compareWires(t *testing.T, name string, got, want []onWire, step time.Duration) {
	t.Helper()
	for i := range min(len(got), len(want)) {
		tolerance := step
		if i > 0 && want[i-1].marks&frame.Framing != 0 {
			tolerance += frame.Characters(1) / 45
		}
		if d := got[i].at - want[i].at; got[i].char != want[i].char || got[i].marks != want[i].marks || d < -tolerance || d > tolerance {
			t.Fatalf("%s, character %d: got %02x %v at %v, want %02x %v at %v", name, i,
				got[i].char, got[i].marks, got[i].at, want[i].char, want[i].marks, want[i].at)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%s: got %d characters, want %d", name, len(got), len(want))
	}
	if !slices.ContainsFunc(want, func(c onWire) bool { return c.marks&frame.Parity != 0 }) {
		t.Error("no parity error was sent")
	}
}
