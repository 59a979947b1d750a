//go:build unix

package main

import (
	"context"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"sync"
	"testing"
	"time"

	"looptone/frame"
	"looptone/serialio"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

// slaveTimeOut is how long a device may take until its reply begins: 28 characters
// of 11 bits at 1200 bit/s.
//
// Source: FieldComm Group support article 8000040648.
const slaveTimeOut = 28 * 11 * time.Second / 1200

// TestTimingHundredPtys asks a device behind each of 100 ptys 100 times, all at
// once, while every core is busy with something else: no reply may begin past the
// slave time-out, measured where the host is.
func TestTimingHundredPtys(t *testing.T) {
	const ptys, transactions = 100, 100
	for range runtime.NumCPU() {
		occupy(t)
	}
	ctx, stop := context.WithCancel(t.Context())
	folder := t.TempDir()
	var lines, hosts sync.WaitGroup
	times := make([][]time.Duration, ptys)
	for i := range ptys {
		link := filepath.Join(folder, strconv.Itoa(i))
		port, err := serialio.NewPTY(link)
		if err != nil {
			t.Fatal(err)
		}
		defer port.Close()
		a, err := linefile.Demonstration().Assemble(nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		runner := live.NewRunner(a.Line)
		runner.Attach("pty", port, nil)
		lines.Go(func() { runner.Run(ctx, nil) })
		hosts.Go(func() { times[i] = askOver(t, link, transactions) })
	}
	hosts.Wait()
	stop()
	lines.Wait()

	all := slices.Concat(times...)
	slices.Sort(all)
	if len(all) != ptys*transactions {
		t.Fatalf("%d replies, want %d", len(all), ptys*transactions)
	}
	t.Logf("%d replies begin %v after their request at the median, %v at 99 %%, %v at the worst", len(all),
		all[len(all)/2], all[len(all)*99/100], all[len(all)-1])
	if worst := all[len(all)-1]; worst > slaveTimeOut {
		t.Errorf("the latest reply began after %v, want at most %v", worst, slaveTimeOut)
	}
}

// occupy keeps a core busy until the test ends.
func occupy(t *testing.T) {
	t.Helper()
	busy := exec.Command("sh", "-c", "while kill -0 $PPID; do :; done") // no longer than this process
	if err := busy.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		busy.Process.Kill()
		busy.Wait()
	})
}

// askOver asks the device with polling address 3 of the line behind a pty for
// command 0, again and again, and gives when its replies began, counted from the
// end of their requests. A host writes a request at once, so it ends when it is
// written; of a reply the first character is there when its stop bit has ended.
func askOver(t *testing.T, link string, transactions int) (times []time.Duration) {
	pty, err := os.OpenFile(link, os.O_RDWR, 0)
	if err != nil {
		t.Error(err)
		return nil
	}
	defer pty.Close()
	request, _ := hex.DecodeString("ffffffffff0283000081")
	const character = 11 * time.Second / 1200
	for range transactions {
		if _, err := pty.Write(request); err != nil {
			t.Error(err)
			return times
		}
		written := time.Now()
		first, err := replyFrom(pty)
		if err != nil {
			t.Error(err)
			return times
		}
		times = append(times, first.Sub(written)-character)
	}
	return times
}

// replyFrom reads a reply to its end and gives when its first character was there.
func replyFrom(pty *os.File) (first time.Time, err error) {
	var d frame.Decoder
	var ev frame.Event
	buf := make([]byte, 512)
	for {
		n, err := pty.Read(buf)
		if err != nil {
			return first, err
		}
		if first.IsZero() {
			first = time.Now()
		}
		d.Feed(buf[:n], nil)
		for d.Next(&ev) {
			if ev.Outcome == frame.Whole && ev.Frame.Kind == frame.ACK {
				return first, nil
			}
		}
	}
}
