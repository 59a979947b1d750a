//go:build unix

package main

import (
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"looptone/serialio"
	"looptone/sim"
)

// start starts the program as a process of its own and ends it with the test.
func start(t *testing.T, args ...string) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(t.TempDir(), "looptone")
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(program, args...)
	cmd.Stderr = os.Stderr
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Signal(os.Interrupt)
		if err := cmd.Wait(); err != nil {
			t.Errorf("looptone %v: %v", args, err)
		}
	})
}

// TestTimingResponse measures, as a process at the other end of the pty, from
// the last character written to the first one read: the device's latency and
// the one character that the first takes.
func TestTimingResponse(t *testing.T) {
	const latency, tolerance = 50 * time.Millisecond, 5 * time.Millisecond // LT-103 of the demonstration line
	link := filepath.Join(t.TempDir(), "loop")
	start(t, "sim", "--pty", link)
	if err := poll(func() bool { _, err := os.Lstat(link); return err == nil }); err != nil {
		t.Fatal(err)
	}
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
