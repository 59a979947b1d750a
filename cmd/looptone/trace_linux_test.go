package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
)

// TestTimingDurableBeforeTheReply: a kill proves nothing about a loss of power,
// since the system keeps what a dead process wrote. So the system calls of a
// simulation are looked at: between the last character of a write that comes in
// and the first of its reply that goes out, the state file is synchronised. The
// disk is made slower than the device, so that the order is no chance.
//
// Source: strace(1), -f, -y and -e inject.
func TestTimingDurableBeforeTheReply(t *testing.T) {
	v := newVictim(t, 1)
	v.traced = filepath.Join(filepath.Dir(v.state), "calls")
	if err := exec.Command("strace", "-o", os.DevNull, "true").Run(); err != nil { // or no right to trace
		leaveOut(t, err)
	}
	cmd, conn := v.start()
	defer conn.Close()
	if !v.write(conn) {
		t.Fatal("no reply")
	}
	syscall.Kill(-cmd.Process.Pid, syscall.SIGINT) // strace itself does not heed it
	cmd.Wait()
	log, err := os.ReadFile(v.traced)
	if err != nil {
		t.Fatal(err)
	}
	checkOrder(t, strings.Split(string(log), "\n"))
}

var (
	fromSocket = regexp.MustCompile(`^\d+ +read\(\d+<(socket|TCP):`)
	toSocket   = regexp.MustCompile(`^\d+ +write\(\d+<(socket|TCP):`)
	synced     = regexp.MustCompile(`^\d+ +(fdatasync\(.*|<\.\.\. fdatasync resumed>.*) = 0( \(DELAYED\))?$`)
	request    = regexp.MustCompile(`= [1-9]\d*$`)
)

// checkOrder wants a synchronisation between what came in and what went out.
func checkOrder(t *testing.T, calls []string) {
	t.Helper()
	heard, durable := false, false
	for _, call := range calls {
		switch {
		case fromSocket.MatchString(call) && request.MatchString(call):
			heard, durable = true, false
		case synced.MatchString(call):
			durable = heard
		case toSocket.MatchString(call):
			if !durable {
				t.Errorf("the reply left before the state was on the disk:\n%s", strings.Join(calls, "\n"))
			}
			return
		}
	}
	t.Errorf("no reply among these calls:\n%s", strings.Join(calls, "\n"))
}
