package fsk_test

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"looptone/serialio/capture"
	"looptone/serialio/fsk"
	"looptone/serialio/wave"
)

// traffic writes a file of so many seconds: messages with a break between them, as a
// master and devices have them, or with mark between them, in which minimodem is quickest.
func traffic(t testing.TB, file string, breaks bool, seconds float64) (chars int) {
	t.Helper()
	const rate = 48000
	r := seeded(41)
	samples := make([]float64, int(seconds*rate))
	k := &talk{at: 0.1, lead: 4, tail: 4, amplitude: 0.5, pauses: make(map[int]float64)}
	for k.end() < seconds-1 {
		k.pauses[len(k.chars)] = 60
		k.chars = append(k.chars, message(r, 10+r.IntN(25))...)
		if breaks {
			k.add(samples, rate)
			chars += len(k.chars)
			k = &talk{at: k.end() + 0.05, lead: 4, tail: 4, amplitude: 0.5, pauses: make(map[int]float64)}
		}
	}
	if !breaks {
		k.add(samples, rate)
		chars = len(k.chars)
	}
	addNoise(r, samples, deviation(25, 0.5, rate))
	writeWAV(t, file, rate, samples)
	return chars
}

// decodeFile reads a waveform as `decode` does and counts its characters.
func decodeFile(file string) (chars int, err error) {
	f, err := os.Open(file)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	w, err := wave.Open(f, file, wave.Options{})
	if err != nil {
		return 0, err
	}
	rd := fsk.NewReader(w, file)
	for rec := new(capture.Record); ; {
		if err := rd.Next(rec); err == io.EOF {
			return chars, nil
		} else if err != nil {
			return chars, err
		}
		chars += len(rec.Chars)
	}
}

// minimodemArgs have minimodem hear a file with its default width and limits.
func minimodemArgs(file string) []string {
	return []string{"--rx", "-q", "--binary-raw", "11", "-M", "1200", "-S", "2200", "-f", file, "1200"}
}

// A waveform is read at least as fast as minimodem reads it with its default width: the
// same file, each in a process of its own on one core, by the time of the processor. What
// else the machine does makes both slower, so of each the quickest run counts, and there
// are more runs when it is close.
func TestTimingBesideMinimodem(t *testing.T) {
	minimodem := need(t, "minimodem")
	const seconds, fewest, most = 120, 3, 25
	for name, breaks := range map[string]bool{"one carrier": false, "a carrier for each message": true} {
		t.Run(name, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "traffic.wav")
			sent := traffic(t, file, breaks, seconds)
			if chars, err := decodeFile(file); err != nil || chars != sent {
				t.Fatalf("got %d characters of %d: %v", chars, sent, err)
			}
			ours, theirs := time.Hour, time.Hour
			for n := 0; n < fewest || n < most && ours > theirs; n++ {
				ours = min(ours, processorTime(t, decoder(file)))
				theirs = min(theirs, processorTime(t, exec.Command(minimodem, minimodemArgs(file)...)))
			}
			t.Logf("the demodulator %.0f × real time, minimodem %.0f ×", seconds/ours.Seconds(), seconds/theirs.Seconds())
			if ours > theirs {
				t.Errorf("the demodulator took %v for %d s, minimodem %v", ours, seconds, theirs)
			}
		})
	}
}

// processorTime runs a program and tells how long it kept the processor busy.
func processorTime(t *testing.T, cmd *exec.Cmd) time.Duration {
	t.Helper()
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s: %v", cmd, err)
	}
	return cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
}

// decoder is this program as one that reads a waveform, on one core, and prints what the
// system tells of it. TestMain is where it begins.
func decoder(file string) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "DECODE="+file, "GOMAXPROCS=1")
	return cmd
}

func TestMain(m *testing.M) {
	file := os.Getenv("DECODE")
	if file == "" {
		os.Exit(m.Run())
	}
	if chars, err := decodeFile(file); err != nil || chars == 0 {
		fmt.Fprintf(os.Stderr, "got %d characters: %v\n", chars, err)
		os.Exit(1)
	}
	status, _ := os.ReadFile("/proc/self/status") // only Linux has it
	os.Stdout.Write(status)
}

// A waveform is read with little memory, however long it is: in a process of its own, of
// which the system tells the most that it ever had.
func TestAllocationsOfALongFile(t *testing.T) {
	if _, err := os.Stat("/proc/self/status"); err != nil {
		leaveOut(t, err)
	}
	file := filepath.Join(t.TempDir(), "traffic.wav")
	traffic(t, file, true, 240)
	out, err := decoder(file).Output()
	if err != nil {
		t.Fatal(err)
	}
	_, peak, found := strings.Cut(string(out), "VmHWM:")
	var kB int
	if _, err := fmt.Sscan(peak, &kB); !found || err != nil {
		t.Fatalf("no peak of the memory in %q", out)
	}
	t.Logf("%d kB at most", kB)
	if kB > 32<<10 {
		t.Errorf("got %d kB of memory at most, want 32 MB", kB)
	}
}
