package statefile

import (
	"bufio"
	"math/rand"
	"os"
	"strconv"
	"testing"
	"time"

	"looptone/sim/device"
)

// countForEver saves rising numbers, a few at once, and writes each to stdout when
// it is told that the number is kept. Each device gets every third.
func countForEver(f *File) {
	for n := highest(f) + 1; ; {
		var saved []*batch
		for range 1 + rand.Intn(4) {
			saved = append(saved, f.save(number((n+len(saved))%3), counted(n+len(saved))))
		}
		for _, b := range saved {
			<-b.done
			check(b.err)
			os.Stdout.WriteString(strconv.Itoa(n) + "\n")
			n++
		}
	}
}

// counted is a memory that holds n twice, so that half of it would show.
func counted(n int) device.Memory {
	return device.Memory{FinalAssembly: new(uint32(n)), Message: new(strconv.Itoa(n))}
}

// highest is the highest number that is kept.
func highest(f *File) (n int) {
	for _, kept := range keptNumbers(f) {
		n = max(n, kept)
	}
	return n
}

// keptNumbers is what each device holds; 0: nothing, -1: no whole record.
func keptNumbers(f *File) (kept [3]int) {
	for i := range kept {
		m, known, err := f.Load(number(i))
		switch {
		case err != nil, known && (m.FinalAssembly == nil || m.Message == nil || strconv.Itoa(int(*m.FinalAssembly)) != *m.Message):
			kept[i] = -1
		case known:
			kept[i] = int(*m.FinalAssembly)
		}
	}
	return kept
}

// TestTimingKills kills a process that saves, 200 times (20 in CI), at random
// moments, also while it makes the file: what it was told is kept is there, whole,
// and nothing goes backwards.
func TestTimingKills(t *testing.T) {
	kills := 200
	if inCI() {
		kills = 20
	}
	path, told, spoke := newPath(t), 0, 0
	for kill := range kills {
		first := kill%4 == 0
		if first { // from no file at all
			path, told = newPath(t), 0
		}
		last := runAndKill(t, path, first)
		if last > 0 {
			told = last
			spoke++
		}
		checkKept(t, path, told)
	}
	t.Logf("%d of %d processes were told of a number before they were killed", spoke, kills)
	if spoke < kills/2 {
		t.Error("most processes were killed before they had done anything")
	}
}

// runAndKill lets a process count and gives the last number that it was told is
// kept, 0 if none. It is killed within 15 ms of its start, or of its first number.
func runAndKill(t *testing.T, path string, fromStart bool) (last int) {
	t.Helper()
	cmd := child("count", path)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	kill := func() {
		time.AfterFunc(time.Duration(rand.Intn(15_000))*time.Microsecond, func() { cmd.Process.Kill() })
	}
	if fromStart {
		kill()
	}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if last == 0 && !fromStart {
			kill()
		}
		if last, err = strconv.Atoi(lines.Text()); err != nil {
			t.Fatal(err)
		}
	}
	if cmd.Wait(); cmd.ProcessState.Exited() {
		t.Fatalf("the process ended by itself: %v", cmd.ProcessState)
	}
	return last
}

// checkKept opens what a killed process left. Up to four numbers were on their
// way when it died.
func checkKept(t *testing.T, path string, told int) {
	t.Helper()
	f, err := Open(path)
	if err != nil {
		t.Fatalf("told of %d: %v", told, err)
	}
	defer f.Close()
	for i, kept := range keptNumbers(f) {
		least := max(0, told-(told+3-i)%3) // the device's last number up to told
		if kept < least || kept > told+4 || kept > 0 && kept%3 != i {
			t.Errorf("device %d: kept %d, want %d to %d", i, kept, least, told+4)
		}
	}
}

// inCI reports whether a missing program is a failure; see .ci/test.
func inCI() bool { return os.Getenv("CI") == "1" || os.Getenv("CI") == "true" }
