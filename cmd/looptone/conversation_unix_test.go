//go:build unix

package main

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
	"looptone/serialio/capture"
)

// steadyLine does not change by itself: two conversations on it are the same.
const steadyLine = "../../testdata/lines/steady.toml"

// What goes through a wire with record in it is what the line on the other side says,
// and what the file holds. Replayed as the devices, the file gives a second scan the
// answers of the first one, and replayed as the master it finds nothing else on a second
// line. Each is a process of its own.
func TestTimingRecordBetween(t *testing.T) {
	var c conversation
	file := filepath.Join(t.TempDir(), "trace.txt")
	untorn(t, func(t *testing.T) (torn string) {
		os.Remove(file)
		c, torn = recordedScan(t, file)
		return torn
	})
	t.Run("as devices", func(t *testing.T) {
		untorn(t, func(t *testing.T) (torn string) { return scanOfDevices(t, c) })
	})
	t.Run("as master", func(t *testing.T) {
		untorn(t, func(t *testing.T) (torn string) { return askedAgain(t, c) })
	})
}

// untorn attempts something in real time until nothing tore a message on the way:
// a machine that stalls does.
func untorn(t *testing.T, attempt func(t *testing.T) (torn string)) {
	t.Helper()
	const attempts = 8
	for i := range attempts {
		torn := ""
		if !t.Run(fmt.Sprint("attempt ", i+1), func(t *testing.T) { torn = attempt(t) }) {
			t.FailNow()
		}
		if torn == "" {
			return
		}
		t.Logf("attempt %d: %s", i+1, torn)
	}
	t.Fatalf("%d attempts, and each is torn", attempts)
}

// A conversation is a scan that was recorded.
type conversation struct {
	file   string
	found  []map[string]any // what the scan says
	onLine []lineFrame      // what the line says
}

// A lineFrame is what a JSON line says of a frame.
type lineFrame struct {
	Event     string
	Frame     string
	Kind      string
	Preambles int
	Stream    int
}

// chars are the characters of the frame, with its preambles.
func (f *lineFrame) chars(t *testing.T) []byte {
	t.Helper()
	b, err := hex.DecodeString(f.Frame)
	if err != nil {
		t.Fatal(err)
	}
	return append(frame.AppendPreambles(nil, f.Preambles), b...)
}

// recordedScan records a scan of a simulated line, and tells how it was torn.
func recordedScan(t *testing.T, file string) (c conversation, torn string) {
	c.file = file
	dir := t.TempDir()
	loop, tap, log := filepath.Join(dir, "loop"), filepath.Join(dir, "tap"), filepath.Join(dir, "sim.jsonl")
	logged, err := os.Create(log)
	if err != nil {
		t.Fatal(err)
	}
	defer logged.Close()
	sim := program(t, "sim", steadyLine, "--pty", loop, "--json")
	sim.Stdout = logged
	startSim(t, sim, loop, 0)
	recorder, shown, told := startRecord(t, "--port", loop, "--pty", tap, "--show", c.file)
	c.found = scanned(t, tap)
	stopped(t, recorder, told, c.file)
	if code := stopProgram(t, sim, os.Interrupt); code != 0 {
		t.Fatalf("sim exits with %d", code)
	}
	text, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	var whole bool
	// Commands 0, 13 and 3 of revision 5, and 20 and 7 too of revision 7, each with its reply.
	if c.onLine, whole = framesIn(t, string(text)); !whole || len(c.found) != 2 || len(c.onLine) != 16 {
		return c, fmt.Sprintf("%d devices found, and on the line was\n%s", len(c.found), text)
	}
	checkBytes(t, c)
	stdout, stderr, err := decodedFile(c.file, decodeOptions{json: true})
	if err != nil || strings.Contains(stderr, "damage") {
		t.Fatalf("%v: %s", err, stderr)
	}
	recorded, whole := framesIn(t, stdout)
	if !whole || !sameFrames(recorded, c.onLine) {
		return c, "the recording tears what was whole on the line:\n" + stdout
	}
	if n := strings.Count(shown.String(), " → "); n != len(recorded) {
		return c, fmt.Sprintf("%d messages were shown, want %d:\n%s", n, len(recorded), shown)
	}
	return c, ""
}

// scanned is what a scan finds behind a pty, as the simulated line answers it or whoever
// stands in for that.
func scanned(t *testing.T, pty string) (devices []map[string]any) {
	t.Helper()
	out, err := program(t, "scan", "--port", pty, "--from", "1", "--to", "2", "--json").Output()
	if err != nil {
		t.Logf("scan: %v", err)
	}
	for line := range strings.Lines(string(out)) {
		var d map[string]any
		if err := json.Unmarshal([]byte(line), &d); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		delete(d, "line")
		devices = append(devices, d)
	}
	return devices
}

// framesIn are the frames in JSON lines; whole reports whether there is nothing else.
func framesIn(t *testing.T, lines string) (frames []lineFrame, whole bool) {
	t.Helper()
	whole = true
	for line := range strings.Lines(lines) {
		var f lineFrame
		if err := json.Unmarshal([]byte(line), &f); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		if f.Event != "frame" {
			whole = false
			continue
		}
		frames = append(frames, f)
	}
	return frames, whole
}

// checkBytes wants in the file what was on the line, each direction in a stream of its
// own: the loop's end first, where the devices are.
func checkBytes(t *testing.T, c conversation) {
	t.Helper()
	var want [2][]byte
	for _, f := range c.onLine {
		from := 0
		if f.Kind == "STX" {
			from = 1
		}
		want[from] = append(want[from], f.chars(t)...)
	}
	file, err := os.Open(c.file)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rd, _, err := capture.Open(file, c.file, "")
	if err != nil {
		t.Fatal(err)
	}
	var got [2][]byte
	for rec := new(capture.Record); ; {
		if err := rd.Next(rec); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		got[rec.Stream] = append(got[rec.Stream], rec.Chars...)
	}
	for i := range want {
		if !bytes.Equal(got[i], want[i]) {
			t.Errorf("stream %d holds\n% x\non the line was\n% x", i, got[i], want[i])
		}
	}
}

// sameFrames reports whether the same was recorded as was on the line.
func sameFrames(recorded, onLine []lineFrame) bool {
	return slices.EqualFunc(recorded, onLine, func(a, b lineFrame) bool {
		return a.Frame == b.Frame && a.Preambles == b.Preambles
	})
}

// scanOfDevices scans the recorded devices, and tells what is not as it was.
func scanOfDevices(t *testing.T, c conversation) (torn string) {
	link := filepath.Join(t.TempDir(), "loop")
	devices := program(t, "replay", "devices", c.file, "--pty", link)
	startSim(t, devices, link, 0)
	found := scanned(t, link)
	if len(found) != len(c.found) {
		return fmt.Sprintf("%d devices found, want %d", len(found), len(c.found))
	}
	for i := range found {
		was, is := c.found[i]["response_time"].(float64), found[i]["response_time"].(float64)
		if off := time.Duration(math.Abs(is-was) * 1e9); off > portLateness {
			return fmt.Sprintf("device %d answers after %v s, and did so after %v s", i, is, was)
		}
	}
	sameButTimes := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == `["response_time"]` }, cmp.Ignore())
	return cmp.Diff(c.found, found, sameButTimes)
}

// askedAgain asks a second line what the first one was asked, and tells what it answers
// else.
func askedAgain(t *testing.T, c conversation) (torn string) {
	link := filepath.Join(t.TempDir(), "loop")
	startSim(t, program(t, "sim", steadyLine, "--pty", link), link, 0)
	master := program(t, "replay", "master", c.file, "--port", link)
	report, err := master.Output()
	if code := master.ProcessState.ExitCode(); code != 0 && code != 3 && code != 4 {
		t.Fatalf("replay master exits with %d: %v", code, err)
	}
	want := fmt.Sprintf("\n%d same, 0 different, 0 missing, 0 extra\n", len(c.onLine)/2) // requests and replies
	if err != nil || !strings.HasSuffix(string(report), want) {
		return fmt.Sprintf("%v: the report is\n%s\nwant at its end%s", err, report, want)
	}
	return ""
}
