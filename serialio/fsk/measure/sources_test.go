package measure_test

import (
	"bytes"
	"io"
	"math"
	"math/bits"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"looptone/serialio/fsk"
	"looptone/serialio/fsk/measure"
	"looptone/serialio/wave"
)

// These tests measure what others have made, from the samples on: the modulator of package
// fsk, and minimodem, which is a program of others (Debian package minimodem).

// A tape plays samples.
type tape struct {
	rate float64
	x    []float32
}

func (t *tape) Rate() float64 { return t.rate }

func (t *tape) Read(dst []float32) (n int, err error) {
	n = copy(dst, t.x)
	t.x = t.x[n:]
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

func near(t *testing.T, what string, got, want, off float64) {
	t.Helper()
	if !(math.Abs(got-want) <= off) {
		t.Errorf("%s: got %v, want %v within %v", what, got, want, off)
	}
}

// broken are the limits that a report finds broken.
func broken(r *measure.Report) (names []string) {
	for _, v := range r.Verdicts() {
		if v.Finding == measure.Broken {
			names = append(names, v.Name+": "+v.Says)
		}
	}
	return names
}

// message has five preambles: a request for command 1 and its check byte.
//
// Source: Buerkert, Type 8605 description of communication, p.16, and three preambles.
var message = []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0x02, 0x80, 0x01, 0x00, 0x83}

func mixed(rate float64, v fsk.Voice) *tape {
	m := fsk.NewMixer(rate)
	for i := range 4 {
		m.Send(&fsk.Carrier{At: 0.08 + 0.2*float64(i), Lead: 3 / fsk.BitRate, Tail: 2 / fsk.BitRate, Chars: message, Voice: v})
	}
	t := &tape{rate, make([]float32, int(rate))}
	m.Read(t.x)
	return t
}

// TestModulator: what the modulator sends keeps every limit at every rate, and faults that
// it is asked for are measured as large as they are.
func TestModulator(t *testing.T) {
	for _, rate := range []float64{9600, 19200, 44100, 48000, 96000, 192000} {
		r, err := measure.Measure(mixed(rate, fsk.Voice{Amplitude: 0.5}), measure.Options{VoltsPerUnit: 1})
		if err != nil {
			t.Fatal(err)
		}
		if b := broken(r); b != nil || r.Messages.Whole != 4 || r.Carriers != 4 {
			t.Errorf("at %v: broken are %q, with %d messages and %d carriers", rate, b, r.Messages.Whole, r.Carriers)
		}
		near(t, "mark", r.Mark.Hz.Mean, 1200, 0.05)
		near(t, "space", r.Space.Hz.Mean, 2200, 0.05)
		near(t, "bit rate", r.BitRate.Mean, 1200, 0.05)
		near(t, "amplitude", r.Mark.Amplitude.Mean, 0.5, 0.001)
		near(t, "amplitude", r.Space.Amplitude.Mean, 0.5, 0.001)
		near(t, "lead", r.Lead.Mean, 3, 0.1)
		near(t, "tail", r.Tail.Mean, 2, 0.1)
	}
	for name, c := range map[string]struct {
		voice fsk.Voice
		check func(r *measure.Report)
	}{
		"tones": {fsk.Voice{MarkPPM: 7000, SpacePPM: -7000}, func(r *measure.Report) {
			near(t, "mark", r.Mark.Hz.Mean, 1208.4, 0.1)
			near(t, "space", r.Space.Hz.Mean, 2184.6, 0.1)
		}},
		"clock": {fsk.Voice{ClockPPM: 5000}, func(r *measure.Report) {
			near(t, "mark", r.Mark.Hz.Mean, 1200/1.005, 0.1)
			near(t, "bit rate", r.BitRate.Mean, 1200/1.005, 0.1)
		}},
		"jitter": {fsk.Voice{Jitter: 0.04, Seed: 3}, func(r *measure.Report) {
			near(t, "jitter", r.Edges.RMS, 0.04, 0.006)
		}},
	} {
		c.voice.Amplitude = 0.5
		r, err := measure.Measure(mixed(48000, c.voice), measure.Options{VoltsPerUnit: 1})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		c.check(r)
	}
}

// leaveOut leaves a test out that cannot be run here for want of something; in CI
// nothing is.
func leaveOut(t *testing.T, why error) {
	t.Helper()
	if ci := os.Getenv("CI"); ci == "1" || ci == "true" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// TestMinimodem measures what minimodem sends. At 48 and 19.2 kHz its bits are a whole
// number of samples. At 44.1 kHz they would be 36.75 of them and it makes 37, which the
// bit rate shows: 44100/37 = 1191.89.
func TestMinimodem(t *testing.T) {
	program, err := exec.LookPath("minimodem")
	if err != nil {
		leaveOut(t, err)
	}
	for rate, bitRate := range map[int]float64{19200: 1200, 48000: 1200, 44100: 44100. / 37} {
		path := filepath.Join(t.TempDir(), "tones.wav")
		cmd := exec.Command(program, "--tx", "-8", "--startbits", "0", "--stopbits", "0", "-M", "1200", "-S", "2200",
			"-R", strconv.Itoa(rate), "-v", "0.5", "--lut=0", "-f", path, "1200")
		in := filepath.Join(t.TempDir(), "bits")
		if err := os.WriteFile(in, packed(), 0o600); err != nil {
			t.Fatal(err)
		}
		stdin, err := os.Open(in) // from a slow pipe it would send pauses
		if err != nil {
			t.Fatal(err)
		}
		cmd.Stdin = stdin
		said, err := cmd.CombinedOutput()
		stdin.Close()
		if err != nil {
			t.Fatalf("%v: %s", err, said)
		}
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		w, err := wave.Open(bytes.NewReader(raw), path, wave.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r, err := measure.Measure(w, measure.Options{VoltsPerUnit: 1})
		if err != nil {
			t.Fatalf("at %d: %v", rate, err)
		}
		near(t, "messages", float64(r.Messages.Whole), 6, 0)
		near(t, "mark", r.Mark.Hz.Mean, 1200, 0.1)
		near(t, "space", r.Space.Hz.Mean, 2200, 0.1)
		near(t, "bit rate", r.BitRate.Mean, bitRate, 0.1)
		near(t, "amplitude", r.Mark.Amplitude.Mean, 1, 0.01) // -v 0.5 is half of full scale, 1 peak to peak
		near(t, "amplitude", r.Space.Amplitude.Mean, 1, 0.01)
		near(t, "jump", r.Edges.JumpRMS, 0, 0.5)
		near(t, "grid", r.Edges.RMS, 0, 0.005)
		if t.Failed() {
			t.Fatalf("at %d samples a second", rate)
		}
	}
}

// packed are six messages as the bits of a line, eight in a byte, the first one lowest, with
// 48 bits of mark before, between and 80 behind.
func packed() []byte {
	var line []byte
	mark := func(n int) {
		for range n {
			line = append(line, 1)
		}
	}
	for range 6 {
		mark(48)
		for _, c := range message {
			line = append(line, 0)
			for k := range 8 {
				line = append(line, c>>k&1)
			}
			line = append(line, 1&^byte(bits.OnesCount8(c)), 1)
		}
	}
	mark(80)
	for len(line)%8 != 0 {
		mark(1)
	}
	out := make([]byte, len(line)/8)
	for i, bit := range line {
		out[i/8] |= bit << (i % 8)
	}
	return out
}

// BenchmarkMeasure measures messages one behind the other, half of the time carrier, and
// prints how many times real time that is.
func BenchmarkMeasure(b *testing.B) {
	const rate = 48000
	m := fsk.NewMixer(rate)
	for i := range 40 {
		m.Send(&fsk.Carrier{At: 0.1 + 0.25*float64(i), Lead: 3 / fsk.BitRate, Tail: 2 / fsk.BitRate, Chars: message, Voice: fsk.Voice{Amplitude: 0.5}})
	}
	x := make([]float32, 10*rate)
	m.Read(x)
	for b.Loop() {
		if _, err := measure.Measure(&tape{rate, x}, measure.Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(10*float64(b.N)/b.Elapsed().Seconds(), "×realtime")
}
