//go:build unix

package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"looptone/serialio"
)

// The port of a simulation goes, as when it is unplugged, and comes back: that is said
// once, and a host on it has answers again.
func TestTimingSimGoesOnWhenThePortIsBack(t *testing.T) {
	link := filepath.Join(t.TempDir(), "host")
	host := newPTY(t, link)
	var told said
	sim := program(t, "sim", "--port", link, "--json")
	sim.Stderr = &told
	if err := sim.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stopProgram(t, sim, os.Kill) })
	says := func(what string, times int) {
		t.Helper()
		if err := poll(func() bool { return strings.Count(told.String(), what) == times }); err != nil {
			t.Fatalf("%v: %q is not said %d times:\n%s", err, what, times, told.String())
		}
	}
	says("6 devices", 1)
	for range 2 {
		askUntilAnswered(t, host)
		host.Close()
		says("read "+link+": the other end is gone; it is opened again as soon as it is there", 1)
		host = newPTY(t, link)
		says(link+" is open again after ", 1)
		told.reset()
	}
	askUntilAnswered(t, host)
	if code := stopProgram(t, sim, os.Interrupt); code != 0 {
		t.Errorf("sim exits with %d, want 0", code)
	}
	if got := told.String(); got != "" {
		t.Errorf("said on top: %s", got)
	}
}

// A simulation that is stopped while its port is away ends at once.
func TestTimingSimEndsWhileThePortIsAway(t *testing.T) {
	link := filepath.Join(t.TempDir(), "host")
	host := newPTY(t, link)
	var told said
	sim := program(t, "sim", "--port", link)
	sim.Stderr = &told
	if err := sim.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stopProgram(t, sim, os.Kill) })
	if err := poll(func() bool { return strings.Contains(told.String(), "6 devices") }); err != nil {
		t.Fatal(err)
	}
	host.Close()
	if err := poll(func() bool { return strings.Contains(told.String(), "it is opened again") }); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	if code := stopProgram(t, sim, os.Interrupt); code != 0 || time.Since(began) > 5*time.Second {
		t.Errorf("sim exits with %d after %v, want 0 at once", code, time.Since(began))
	}
}

func newPTY(t *testing.T, link string) *serialio.Port {
	t.Helper()
	p, err := serialio.NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close() })
	return p
}

// askUntilAnswered asks the device at polling address 3 who it is, again and again, and
// wants the beginning of its reply.
//
// Source: FieldComm Group support article 8000040648 for the frame; the request is one
// of testdata/vectors.
func askUntilAnswered(t *testing.T, host *serialio.Port) {
	t.Helper()
	request := []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0x02, 0x83, 0x00, 0x00, 0x81}
	var got []byte
	for range 20 {
		if err := host.Send(t.Context(), time.Now().Add(-time.Hour), 0, 0, request); err != nil {
			t.Fatal(err)
		}
		wait := time.After(time.Second)
		for waiting := true; waiting; {
			select {
			case a := <-host.Arrivals():
				got = append(got, a.Chars...)
				if strings.Contains(string(got), "\xff\xff\x06\x83\x00") {
					return
				}
			case <-wait:
				waiting = false
			}
		}
	}
	t.Fatalf("no reply, got % x", got)
}
