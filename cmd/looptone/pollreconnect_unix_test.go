//go:build unix

package main

import (
	"bytes"
	"encoding/json"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// said is what a program has written so far.
type said struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *said) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(b)
}

func (s *said) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

func (s *said) reset() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.b.Reset()
}

// A port goes, as when it is unplugged, and comes back: what is wrong is said once,
// polling goes on, and the statistics do.
func TestTimingPollGoesOnWhenThePortIsBack(t *testing.T) {
	link := filepath.Join(t.TempDir(), "loop")
	address := addressOfNobody(t)
	tests := []struct {
		name, flag, at string
		there          func() bool
	}{
		{"pty", "--pty", link, func() bool { _, err := os.Lstat(link); return err == nil }},
		{"TCP", "--listen", address, func() bool {
			conn, err := net.Dial("tcp", address)
			if err == nil {
				conn.Close()
			}
			return err == nil
		}},
	}
	flags := map[string]string{"pty": "--port", "TCP": "--tcp"}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			start := func() *exec.Cmd {
				sim := program(t, "sim", tt.flag, tt.at)
				if err := sim.Start(); err != nil {
					t.Fatal(err)
				}
				t.Cleanup(func() { stopProgram(t, sim, os.Interrupt) })
				if err := poll(tt.there); err != nil {
					t.Fatal(err)
				}
				return sim
			}
			sim := start()
			var out, told said
			poller := program(t, "poll", flags[tt.name], tt.at, "--device", "3", "--command", "1", "--json")
			poller.Stdout, poller.Stderr = &out, &told
			if err := poller.Start(); err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { stopProgram(t, poller, os.Kill) })
			readings := func() int {
				return strings.Count(out.String(), `"command":1,"name":"read primary variable","try":1,"outcome":"answered"`)
			}
			waitFor := func(what string, is func() bool) {
				t.Helper()
				if err := poll(is); err != nil {
					t.Fatalf("%s: %v\n%s%s", what, err, out.String(), told.String())
				}
			}
			waitFor("readings", func() bool { return readings() >= 2 })
			stopProgram(t, sim, os.Interrupt)
			waitFor("the port goes", func() bool { return strings.Contains(told.String(), "it is opened again as soon as it is there") })
			before := readings()
			start()
			waitFor("the port is back", func() bool { return strings.Contains(told.String(), tt.at+" is open again after ") })
			waitFor("readings again", func() bool { return readings() >= before+2 })
			if code := stopProgram(t, poller, os.Interrupt); code != 0 {
				t.Errorf("poll exits with %d, want 0", code)
			}
			if n := strings.Count(told.String(), "the other end is gone"); n != 1 {
				t.Errorf("said %d times that the port is gone, want once:\n%s", n, told.String())
			}
			checkTotals(t, out.String(), int64(before+2))
		})
	}
}

// stopProgram ends a program that runs, if it has not ended, and gives its exit code.
func stopProgram(t *testing.T, cmd *exec.Cmd, signal os.Signal) int {
	t.Helper()
	if cmd.ProcessState == nil {
		cmd.Process.Signal(signal)
		overdue := time.AfterFunc(20*time.Second, func() { cmd.Process.Kill() })
		defer overdue.Stop()
		cmd.Wait()
	}
	return cmd.ProcessState.ExitCode()
}

// addressOfNobody is an address that nobody listens on.
func addressOfNobody(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// checkTotals wants each reading counted once, and at least so many of them answered.
func checkTotals(t *testing.T, out string, answered int64) {
	t.Helper()
	var asked, told int64
	last := ""
	for line := range strings.Lines(out) {
		if last = line; strings.HasPrefix(line, `{"event":"reading"`) {
			told++
		}
	}
	var all struct {
		Device, Command                              *string
		Asked, Answered, Damaged, Silent, Busy, Late int64
	}
	if err := json.Unmarshal([]byte(last), &all); err != nil {
		t.Fatalf("%v: %s", err, last)
	}
	asked = all.Answered + all.Damaged + all.Silent + all.Busy
	if underWay := all.Asked - asked; all.Device != nil || underWay < 0 || underWay > 1 {
		t.Errorf("asked is not the sum of what came of it: %s", last)
	}
	if asked != told || all.Answered < answered {
		t.Errorf("%d readings are told, at least %d of them answered; counted was %s", told, answered, last)
	}
}
