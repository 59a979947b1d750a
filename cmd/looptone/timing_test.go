//go:build unix

package main

import (
	"bytes"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"looptone/serialio"
	"looptone/sim"
)

// program is the program as a process of its own that has not started.
func program(t testing.TB, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "looptone")
	if err := os.Symlink(self, link); err != nil {
		t.Fatal(err)
	}
	return exec.Command(link, args...)
}

// startSim starts a simulation that makes a pty, and gives the link to it. The
// test ends it.
func startSim(t *testing.T, cmd *exec.Cmd, link string, wantExit int) {
	t.Helper()
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Signal(os.Interrupt)
		cmd.Wait()
		if got := cmd.ProcessState.ExitCode(); got != wantExit {
			t.Errorf("%v exits with %d, want %d", cmd.Args[1:], got, wantExit)
		}
	})
	if err := poll(func() bool { _, err := os.Lstat(link); return err == nil }); err != nil {
		t.Fatal(err)
	}
}

// TestTimingReaderGoes: whoever reads what a simulation says may go; the line
// stays, and at the end the simulation says that it could not be written.
func TestTimingReaderGoes(t *testing.T) {
	link := filepath.Join(t.TempDir(), "loop")
	sim := program(t, "sim", "--pty", link)
	said, err := sim.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	startSim(t, sim, link, 1)
	said.Close()
	for range 2 {
		scan := program(t, "scan", "--port", link, "--from", "1", "--to", "1")
		if out, err := scan.CombinedOutput(); err != nil || !strings.Contains(string(out), "PT-101") {
			t.Errorf("%v: %s", err, out)
		}
	}
}

// TestTimingResponse measures, as a process at the other end of the pty, from
// the last character written to the first one read: the device's latency and
// the one character that the first takes.
func TestTimingResponse(t *testing.T) {
	const latency, tolerance = 50 * time.Millisecond, 5 * time.Millisecond // LT-103 of the demonstration line
	link := filepath.Join(t.TempDir(), "loop")
	startSim(t, program(t, "sim", "--pty", link), link, 0)
	port, err := serialio.Open(link, serialio.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	defer port.Close()
	pty, err := os.OpenFile(link, os.O_WRONLY, 0) // writes all at once, where a port would pace
	if err != nil {
		t.Fatal(err)
	}
	defer pty.Close()

	request, _ := hex.DecodeString("ffffffffff0283000081") // command 0 to polling address 3
	var times []time.Duration
	for range 20 {
		if _, err := pty.Write(request); err != nil {
			t.Fatal(err)
		}
		written := time.Now()
		times = append(times, firstOf(t, port).Sub(written))
	}
	slices.Sort(times)
	want := latency + sim.Tick(sim.Character).Duration()
	if got := times[len(times)/2]; got < want-tolerance || got > want+tolerance {
		t.Errorf("median of %d response times is %v, want %v within %v; all: %v", len(times), got, want, tolerance, times)
	} else {
		t.Logf("median %v, from %v to %v, want %v", got, times[0], times[len(times)-1], want)
	}
}

// firstOf waits for a reply and gives the moment of its first character. It ends
// when nothing came for ten characters.
func firstOf(t *testing.T, port *serialio.Port) (first time.Time) {
	t.Helper()
	silence := 10 * time.Second
	for {
		select {
		case a, ok := <-port.Arrivals():
			if !ok {
				t.Fatal(port.Err())
			}
			if first.IsZero() {
				first = a.At
			}
			silence = (10 * sim.Tick(sim.Character)).Duration()
		case <-time.After(silence):
			if first.IsZero() {
				t.Fatal("no reply")
			}
			return first
		}
	}
}

// In real time, with a host on the line, the values are those that line time has
// without one.
func TestTimingValues(t *testing.T) {
	folder := t.TempDir()
	link, file := filepath.Join(folder, "loop"), filepath.Join(folder, "values.json")
	values, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	defer values.Close()
	sim := program(t, "sim", "--pty", link, "--values=100ms")
	sim.Stdout = values
	startSim(t, sim, link, 0)
	scan := program(t, "scan", "--port", link, "--from", "3", "--to", "3")
	if out, err := scan.CombinedOutput(); err != nil || !strings.Contains(string(out), "LT-103") {
		t.Fatalf("%v: %s", err, out)
	}
	const enough = 20 * 6 // lines: two seconds
	written := func() []byte {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return text
	}
	if err := poll(func() bool { return bytes.Count(written(), []byte("\n")) >= enough }); err != nil {
		t.Fatal(err)
	}
	live := strings.SplitAfter(string(written()), "\n")
	fast := fastValues(t, "--fast=60s", "--values=100ms")
	for i, line := range live[:min(len(live)-1, len(fast)-1)] { // the last one may not be whole
		if line != fast[i] {
			t.Fatalf("line %d in real time\n%sand in line time\n%s", i+1, line, fast[i])
		}
	}
}
