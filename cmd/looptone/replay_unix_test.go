//go:build unix

package main_test

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const steadyScan = "../../testdata/captures/steady-scan.txt"

// TestTimingReplayedDevicesAreFound: a scan finds behind a pty, answered from the
// recording of a scan, what a scan finds on the line itself.
func TestTimingReplayedDevicesAreFound(t *testing.T) {
	link := standIn(t)
	replayed := foundBy(t, "--port", link)
	simulated := foundBy(t, "--line", "../../testdata/lines/steady.toml")
	if len(simulated) != 2 {
		t.Fatalf("%d devices on the line, want 2", len(simulated))
	}
	if diff := cmp.Diff(simulated, replayed); diff != "" {
		t.Errorf("replayed devices are not those of the line (-line +replayed):\n%s", diff)
	}
}

// standIn has recorded devices behind a pty, until the test ends.
func standIn(t *testing.T) (link string) {
	t.Helper()
	link = filepath.Join(t.TempDir(), "loop")
	cmd := looptone(t, "replay", "devices", steadyScan, "--pty", link)
	told, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Signal(os.Interrupt)
		if err := cmd.Wait(); err != nil {
			t.Errorf("interrupted, replay devices ends with %v, want its normal end", err)
		}
	})
	toldBehind(t, told, "pty at ")
	return link
}

// foundBy is what a scan finds, but for the name of the line and response times.
func foundBy(t *testing.T, wire ...string) (devices []map[string]any) {
	t.Helper()
	out, err := looptone(t, append([]string{"scan", "--json", "--to", "3"}, wire...)...).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(out)), "\n") {
		var d map[string]any
		if err := json.Unmarshal([]byte(line), &d); err != nil {
			t.Fatal(err)
		}
		delete(d, "line")
		delete(d, "response_time")
		devices = append(devices, d)
	}
	return devices
}

// TestTimingRawReplay: whoever listens gets all characters, as far apart as they were
// recorded, and at twice the speed with half the pauses. The recording has 549
// characters from its first start bit to its last stop bit, 25
// characters before 1.634297 s, to 9.374192 s.
func TestTimingRawReplay(t *testing.T) {
	const characters = 549
	const sending = characters * 11 * time.Second / 1200
	const recorded = 9374192*time.Microsecond - (1634297*time.Microsecond - 25*11*time.Second/1200)
	want := recordedBytes(t)
	for _, test := range []struct {
		speed string
		takes time.Duration
	}{
		{"1", recorded},
		{"2", sending + (recorded-sending)/2},
	} {
		t.Run(test.speed, func(t *testing.T) {
			t.Parallel()
			got, took := rawReplay(t, steadyScan, "--speed", test.speed)
			if !bytes.Equal(got, want) {
				t.Errorf("%d characters came, which are not the %d recorded ones", len(got), len(want))
			}
			// The first character comes when it has ended.
			if off := took + 11*time.Second/1200 - test.takes; off.Abs() > 100*time.Millisecond {
				t.Errorf("it took %v, want %v", took, test.takes)
			}
		})
	}
}

// recordedBytes are the characters in the capture, read without the program.
func recordedBytes(t *testing.T) (chars []byte) {
	t.Helper()
	text, err := os.ReadFile(steadyScan)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(string(text), "\n") {
		words := strings.Fields(line)
		if len(words) < 4 || words[1] != "0" {
			continue
		}
		for _, w := range words[2 : len(words)-1] {
			c, err := strconv.ParseUint(w, 16, 8)
			if err != nil {
				t.Fatal(err)
			}
			chars = append(chars, byte(c))
		}
	}
	return chars
}

// rawReplay is what a client hears of a capture, and how long from the first to the
// last character.
func rawReplay(t *testing.T, args ...string) (heard []byte, took time.Duration) {
	t.Helper()
	cmd := looptone(t, append([]string{"replay", "raw", "--listen", "127.0.0.1:0"}, args...)...)
	told, err := cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	conn, err := net.Dial("tcp", toldBehind(t, told, "listening on "))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	var first, last time.Time
	for buf := make([]byte, 1024); ; {
		n, err := conn.Read(buf)
		if n > 0 {
			last = time.Now()
			if heard = append(heard, buf[:n]...); first.IsZero() {
				first = last
			}
		}
		if err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("replay raw ends with %v", err)
	}
	return heard, last.Sub(first)
}

// toldBehind is what a program tells behind some words.
func toldBehind(t *testing.T, told io.Reader, words string) string {
	t.Helper()
	lines := bufio.NewScanner(told)
	for lines.Scan() {
		if rest, ok := strings.CutPrefix(lines.Text(), words); ok {
			go io.Copy(io.Discard, told)
			return rest
		}
	}
	t.Fatalf("nothing is told of %q", words)
	return ""
}
