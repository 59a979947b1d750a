package main

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"os"
	"path/filepath"
	"testing"

	"looptone/frame"
	"looptone/serialio/fsk"
	"looptone/serialio/wave"
	"looptone/sim"
	"looptone/sim/replay"
)

// floats are the samples of a WAV file of floating point.
func floats(t *testing.T, file string) (samples []float32) {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	_, data, _ := bytes.Cut(text, []byte("data"))
	for data = data[min(4, len(data)):]; len(data) >= 4; data = data[4:] {
		samples = append(samples, math.Float32frombits(binary.LittleEndian.Uint32(data)))
	}
	return samples
}

// TestRawWave: less than hold between two pieces is a pause under carrier, more than that
// two carriers, each with lead and tail; and the characters stand where the pauses have
// them, with their wrong parity.
func TestRawWave(t *testing.T) {
	const rate = 44100
	file := filepath.Join(t.TempDir(), "out.wav")
	flags := &waveFlags{file: file, rate: rate, fullScale: 1, depth: depthFlag{wave.Float32}}
	usual, err := (&tonesFlag{}).read(rate)
	if err != nil {
		t.Fatal(err)
	}
	w := &rawWave{ctx: t.Context(), flags: flags, tones: usual}
	for _, p := range []replay.Piece{
		{Chars: []byte{0xff, 0xff, 2}},
		{Pause: 5 * sim.Millisecond, Chars: []byte{0x80, 3}, Wrong: []frame.MarkAt{{Pos: 1, Mark: frame.Parity}}},
		{Pause: 50 * sim.Millisecond, Chars: []byte{0xff, 6}},
	} {
		if err := w.push(p); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.flush(); err != nil {
		t.Fatal(err)
	}
	if err := w.close(io.Discard); err != nil {
		t.Fatal(err)
	}
	const bit = 1 / 1200.0
	voice := fsk.Voice{Amplitude: 0.5}
	first := 0.1 + 5*bit // lead of 5 bits behind the silence
	second := first + 5*11*bit + 0.005 + 0.050
	m := fsk.NewMixer(rate)
	m.Send(&fsk.Carrier{At: 0.1, Lead: 5 * bit, Tail: 3 * bit, Chars: []byte{0xff, 0xff, 2, 0x80, 3}, Voice: voice,
		Pauses: []fsk.Pause{{Before: 3, For: 0.005}}, Marks: []frame.MarkAt{{Pos: 4, Mark: frame.Parity}}})
	m.Send(&fsk.Carrier{At: second - 5*bit, Lead: 5 * bit, Tail: 3 * bit, Chars: []byte{0xff, 6}, Voice: voice})
	got := floats(t, file)
	if want := second + (22+3)*bit + 0.1; math.Abs(float64(len(got))/rate-want) > 1.5/rate {
		t.Fatalf("%.5f s, want %.5f", float64(len(got))/rate, want)
	}
	want := make([]float32, len(got))
	m.Read(want)
	for i, v := range got {
		if math.Abs(float64(v-want[i])) > 1e-5 {
			t.Fatalf("sample %d, at %.5f s: got %v, want %v", i, float64(i)/rate, v, want[i])
		}
	}
}
