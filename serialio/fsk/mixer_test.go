package fsk_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"looptone/frame"
	"looptone/serialio/fsk"
)

// read has a mixer make samples, so many at a time.
func read(m *fsk.Mixer, samples, piece int) []float32 {
	out := make([]float32, samples)
	for part := range slices.Chunk(out, piece) {
		m.Read(part)
	}
	return out
}

// toneAt is amplitude, peak to peak, and phase of a frequency in samples: one term of the
// Fourier sum. There must be whole periods of it.
func toneAt(samples []float32, hz, rate float64) complex128 {
	var sum complex128
	for i, v := range samples {
		sum += complex(float64(v), 0) * cmplx.Rect(1, -2*math.Pi*hz*float64(i)/rate)
	}
	return sum * complex(4/float64(len(samples)), 0)
}

// spaces are characters of nothing but 0: a steady space tone.
func spaces(n int) (chars []byte, marks []frame.MarkAt) {
	for i := range n {
		marks = append(marks, frame.MarkAt{Pos: int64(i), Mark: frame.Parity | frame.Framing})
	}
	return make([]byte, n), marks
}

// Tones and bit rate are 1200 Hz, 2200 Hz and 1200 bit/s, within 1 %: from memory. They
// are far better: what is left of a tone a thousandth beside it shows by how much.
func TestTonesAreOfTheStandard(t *testing.T) {
	chars, marks := spaces(220)
	for _, rate := range []float64{8000, 9600, 11025, 44100, 48000, 192000} {
		m := fsk.NewMixer(rate)
		m.Send(&fsk.Carrier{Lead: 1, Chars: chars, Marks: marks, Voice: fsk.Voice{Amplitude: 0.5}})
		both := read(m, int(3*rate), 4096)
		second := int(rate)
		for _, c := range []struct {
			hz   float64
			part []float32
		}{{1200, both[:second]}, {2200, both[second : 2*second]}} {
			if got := cmplx.Abs(toneAt(c.part, c.hz, rate)); math.Abs(got-0.5) > 1e-6 {
				t.Errorf("%v S/s: %v Hz has %.7f peak to peak, want 0.5", rate, c.hz, got)
			}
			if got := cmplx.Abs(toneAt(c.part, c.hz+1, rate)); got > 1e-6 { // orthogonal over a second
				t.Errorf("%v S/s: a hertz beside %v there is %.7f, want nothing", rate, c.hz, got)
			}
		}
		// 220 characters are 2420 bits, which take 2.01667 s.
		off := int(math.Ceil((1+2420.0/1200)*rate - 1e-6))
		if off < len(both) && both[off] != 0 {
			t.Errorf("%v S/s: there is still a tone behind the last bit", rate)
		}
	}
}

// Wrong parity and stop bits, in any order, are as the tests' own modulator makes them,
// beside others that talk at the same time, and to 96 dB.
func TestMixerAddsUp(t *testing.T) {
	const rate = 44100
	r := seeded(11)
	a := &talk{at: 0.02, lead: 5, tail: 3, chars: message(r, 10), amplitude: 0.5, wrong: map[int]frame.Mark{3: frame.Parity, 9: frame.Framing, 7: frame.Parity | frame.Framing}}
	b := &talk{at: 0.0312345, lead: 2, tail: 1, chars: message(r, 6), amplitude: 0.2, phase: 1}
	want, _ := render(rate, a.end()+0.1, a, b)
	m := fsk.NewMixer(rate)
	m.Send(&fsk.Carrier{At: b.at, Lead: 2 / 1200.0, Tail: 1 / 1200.0, Chars: b.chars, Voice: fsk.Voice{Amplitude: 0.2, Phase: 1}})
	c := &fsk.Carrier{At: a.at, Lead: 5 / 1200.0, Tail: 3 / 1200.0, Chars: a.chars, Voice: fsk.Voice{Amplitude: 0.5}}
	for _, i := range []int{9, 3, 7} {
		c.Marks = append(c.Marks, frame.MarkAt{Pos: int64(i), Mark: a.wrong[i] | frame.Line}) // a line is nothing to send
	}
	m.Send(c)
	if math.Abs(c.End()-a.end()) > 1e-9 {
		t.Errorf("carrier off at %v, want %v", c.End(), a.end())
	}
	for i, got := range read(m, len(want), 1000) {
		if math.Abs(float64(got)-want[i]) > 4e-6 {
			t.Fatalf("sample %d: got %.6f, want %.6f", i, got, want[i])
		}
	}
}

// However samples are read, they are the same.
func TestMixerInPieces(t *testing.T) {
	make := func(piece int) []float32 {
		m := fsk.NewMixer(11025)
		for i := range 5 {
			m.Send(&fsk.Carrier{At: 0.1 * float64(i), Lead: 0.004, Tail: 0.003, Chars: message(seeded(uint64(i)), 9),
				Pauses: []fsk.Pause{{Before: 0, For: 0.001}, {Before: 4, For: 0.02}, {Before: 4, For: 0.01}},
				Voice:  fsk.Voice{Amplitude: 1, Jitter: 0.05, Seed: 3, Shape: fsk.Shape(i % 2)}})
		}
		return read(m, 8000, piece)
	}
	want := make(8000)
	for _, piece := range []int{1, 7, 256, 4096} {
		for i, v := range make(piece) {
			if math.Abs(float64(v-want[i])) > 1e-6 {
				t.Fatalf("in pieces of %d: sample %d is %v, want %v", piece, i, v, want[i])
			}
		}
	}
}

// A carrier that has been on for an hour is still in phase. Its periods are counted in
// sixths: a 1 has six of them, a 0 eleven. A sample is the signal at its instant, however
// few there are.
func TestPhaseAfterAnHour(t *testing.T) {
	const rate, chars, tail = 500, 3600 * 1200 / 11, 1.0
	m := fsk.NewMixer(rate)
	c := &fsk.Carrier{Chars: make([]byte, chars), Tail: tail, Voice: fsk.Voice{Amplitude: 2}}
	sixths := 0
	for i := range c.Chars {
		c.Chars[i] = 0x15 // 1 stop bit and 3 ones, so parity is 0
		sixths += 4*6 + 7*11
	}
	m.Send(c)
	edge := float64(chars) * 11 / 1200
	end := int(edge * rate)
	skip := make([]float32, 8192)
	for n := 0; n < end; n += len(skip) {
		m.Read(skip[:min(len(skip), end-n)])
	}
	for i, got := range read(m, 400, 400)[1:] {
		behind := float64(end+1+i)/rate - edge
		want := math.Sin(2 * math.Pi * (float64(sixths%6)/6 + 1200*behind))
		if math.Abs(float64(got)-want) > 2e-5 {
			t.Fatalf("%.5f s behind the last bit: got %.6f, want %.6f", behind, got, want)
		}
	}
}

// Between two samples a tone cannot move further than its steepest slope, not at the
// edges of bits either, with jitter and clock errors: but where the phase jumps.
func TestPhaseIsContinuous(t *testing.T) {
	const rate = 96000
	for _, c := range []struct {
		voice fsk.Voice
		jumps bool
	}{
		{fsk.Voice{}, false},
		{fsk.Voice{Jitter: 0.1, ClockPPM: 9000, SpacePPM: -5000, Phase: 1}, false},
		{fsk.Voice{Jump: math.Pi / 4}, true},
	} {
		c.voice.Amplitude = 2
		m := fsk.NewMixer(rate)
		m.Send(&fsk.Carrier{Chars: message(seeded(4), 20), Lead: 0.01, Tail: 0.01, Voice: c.voice})
		samples := read(m, int(0.2*rate), 4096)
		steepest, edge := 0.0, 0
		for i := 1; i < len(samples); i++ {
			if step := math.Abs(float64(samples[i] - samples[i-1])); step > steepest {
				steepest, edge = step, i
			}
		}
		if limit := 2 * math.Pi * 2200 * 1.01 / rate; (steepest > limit) != c.jumps {
			t.Errorf("%+v: steps of %.4f at sample %d, a tone makes at most %.4f", c.voice, steepest, edge, limit)
		}
	}
}

// A trapezoid has the amplitude that is asked for, no third harmonic, and a fifth of 1/25
// of the first: the Fourier series of a trapezoid with edges of a third of a period.
func TestTrapezoid(t *testing.T) {
	const rate = 96000
	m := fsk.NewMixer(rate)
	m.Send(&fsk.Carrier{Lead: 1, Voice: fsk.Voice{Amplitude: 0.5, Shape: fsk.Trapezoid}})
	samples := read(m, rate, 4096)
	if high, low := slices.Max(samples), slices.Min(samples); high != 0.25 || low != -0.25 {
		t.Errorf("between %v and %v, want ±0.25", low, high)
	}
	first := cmplx.Abs(toneAt(samples, 1200, rate))
	if want := 0.5 * 4 / math.Pi * math.Sin(math.Pi/3) / (math.Pi / 3); math.Abs(first-want) > 0.001 {
		t.Errorf("the first harmonic has %.4f, want %.4f", first, want)
	}
	for n, want := range map[float64]float64{2: 0, 3: 0, 4: 0, 5: 1 / 25.0, 7: 1 / 49.0} {
		if got := cmplx.Abs(toneAt(samples, 1200*n, rate)) / first; math.Abs(got-want) > 0.002 {
			t.Errorf("harmonic %v is %.4f of the first, want %.4f", n, got, want)
		}
	}
}

// A carrier that is over, and one that is to come, cost nothing.
func TestMixerNeedsNoMemory(t *testing.T) {
	m := fsk.NewMixer(9600)
	samples := make([]float32, 960)
	at := 0.0
	c := &fsk.Carrier{Chars: make([]byte, 4), Voice: fsk.Voice{Amplitude: 1}}
	got := testing.AllocsPerRun(200, func() {
		c.At = at
		m.Send(c)
		m.Read(samples)
		at += 0.1
	})
	if got > 3 {
		t.Errorf("%v allocations a carrier, want 3 at most", got)
	}
}

func BenchmarkMixer(b *testing.B) {
	for _, shape := range []fsk.Shape{fsk.Sine, fsk.Trapezoid} {
		b.Run(fmt.Sprint("shape ", shape), func(b *testing.B) {
			const rate = 48000
			samples := make([]float32, 4096)
			m := fsk.NewMixer(rate)
			m.Send(&fsk.Carrier{Chars: make([]byte, 1<<26), Voice: fsk.Voice{Amplitude: 1, Shape: shape}})
			for b.Loop() {
				m.Read(samples)
			}
			b.ReportMetric(float64(b.N*len(samples))/rate/b.Elapsed().Seconds(), "×realtime")
		})
	}
}
