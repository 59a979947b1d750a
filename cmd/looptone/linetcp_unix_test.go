//go:build unix

package main_test

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

// Three devices that two hosts ask; none replies at the last moment.
var asked = named + strings.Replace(quickAndSlow, "latency_ms = 256\n", "", 1)

// listening starts a simulation that waits for TCP clients and speaks to out, and
// gives its address. finish interrupts it, and wants an exit code.
func listening(t *testing.T, out io.Writer, exit int, args ...string) (address string, finish func()) {
	t.Helper()
	sim := looptone(t, append([]string{"sim", "--listen", "127.0.0.1:0"}, args...)...)
	told, err := sim.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	sim.Stdout = out
	if err := sim.Start(); err != nil {
		t.Fatal(err)
	}
	finish = sync.OnceFunc(func() {
		sim.Process.Signal(os.Interrupt)
		if err := sim.Wait(); sim.ProcessState.ExitCode() != exit {
			t.Errorf("the simulation ends with %v, want exit code %d", err, exit)
		}
	})
	t.Cleanup(finish)
	lines := bufio.NewScanner(told)
	for lines.Scan() {
		if address, ok := strings.CutPrefix(lines.Text(), "listening on "); ok {
			go io.Copy(io.Discard, told)
			return address, finish
		}
	}
	t.Fatal("the simulation does not listen")
	return "", nil
}

// TestTimingTwoClients: two clients of one simulation are two masters that keep each
// other's turns. What they say arrives as late as processes and TCP make it, which
// the log shows; within that nobody speaks out of turn, and nobody into another.
func TestTimingTwoClients(t *testing.T) {
	log := filepath.Join(t.TempDir(), "line.log")
	address, finish := listening(t, io.Discard, 0, lineFile(t, asked), "--log", log)
	var hosts sync.WaitGroup
	for _, master := range []string{"primary", "secondary"} {
		hosts.Go(func() {
			poll := looptone(t, "poll", "--tcp", address, "--master", master, "--rounds", "5", "--json",
				"--device", "PT-1", "--device", "TT-2", "--device", "4", "--command", "1")
			told, err := poll.Output()
			if err != nil {
				t.Errorf("%s: %v", master, err)
			}
			if n := bytes.Count(told, []byte(`"outcome":"answered"`)); n < 18 { // 15, and who they are
				t.Errorf("%s: %d were answered, want 18:\n%s", master, n, told)
			}
		})
	}
	hosts.Wait()
	finish()
	text, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	rec := joinPieces(record(t, text))

	// For what a port may be late by, 16 ms, a master waits longer; the rest is what a
	// process waits until it runs.
	const slack = 25 * ticksPerSecond / 1000
	j := judge{slack: slack}
	j.all(rec)
	// Where a host was not run for longer than 62 ms in the middle of a message, that is
	// two pieces which nobody understands. Whoever asks next must have waited.
	torn := len(j.breaches)
	j.breaches = slices.DeleteFunc(j.breaches, func(b breach) bool { return b.rule == "frame" })
	if torn -= len(j.breaches); torn > 6 || len(j.breaches) > 0 {
		t.Errorf("%d pieces of messages, %d breaches\n%s", torn, len(j.breaches), said(j.breaches))
	}
	if len(j.masters) != 2 || len(j.hosts) != 2 {
		t.Errorf("%d masters and %d hosts have asked, want two and two", len(j.masters), len(j.hosts))
	}
	closest, turns := int64(1<<62), 0
	for i := range rec.carriers[1:] {
		closest = min(closest, rec.carriers[i+1].On-rec.carriers[i].Off)
	}
	for i := range rec.carriers[3:] {
		if asked, before := &rec.carriers[i+2], &rec.carriers[i]; isOutside(asked) && isOutside(before) && asked.Talker != before.Talker {
			turns++
		}
	}
	t.Logf("%d messages, %d pieces of some; the closest two are %.1f ms apart; the turn passed %d times", len(rec.carriers), torn, float64(closest)*1000/ticksPerSecond, turns)
	if turns < 15 {
		t.Errorf("the turn passed from one to the other %d times, want 15 or more of 30", turns)
	}
}

// joinPieces puts together what hosts outside said: it is logged as it arrived.
func joinPieces(rec *lineRecord) *lineRecord {
	const pause = 7 * characterTicks // the line waits 62 ms for the rest of a message
	joined := &lineRecord{line: rec.line, seed: rec.seed, end: rec.end}
	for _, c := range rec.carriers {
		if n := len(joined.carriers); n > 0 && isOutside(&c) &&
			joined.carriers[n-1].Talker == c.Talker && c.On-joined.carriers[n-1].Off < pause {
			last := &joined.carriers[n-1]
			last.Characters, last.Off = append(last.Characters, c.Characters...), c.Off
			continue
		}
		joined.carriers = append(joined.carriers, c)
	}
	return joined
}
