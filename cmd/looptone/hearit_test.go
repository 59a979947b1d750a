package main

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"looptone/cmd/looptone/drawing"
	"looptone/serialio/fsk"
)

// What the page plays is what the demodulator hears: all characters, whatever is in them.
func TestHeardFromThePage(t *testing.T) {
	every := []byte{0xff, 0xff, 0xff, 0xff, 0xff}
	for c := range 256 {
		every = append(every, byte(c))
	}
	messages := map[string][]byte{
		"command 0":       {0xff, 0xff, 0xff, 0xff, 0xff, 0x02, 0x80, 0x00, 0x00, 0x82},
		"every character": every,
	}
	for name, chars := range messages {
		for _, rate := range []int{48000, 44100} {
			if got := heardIn(pageTones(t, chars, rate), float64(rate)); !bytes.Equal(got, chars) {
				t.Errorf("%s at %d samples a second: heard % x, want % x", name, rate, got, chars)
			}
		}
	}
}

// pageTones are the samples that the page's script makes.
func pageTones(t *testing.T, chars []byte, rate int) []float32 {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		leaveOut(t, err)
	}
	script, err := drawing.Files.ReadFile("tones.js")
	if err != nil {
		t.Fatal(err)
	}
	numbers, err := json.Marshal(ints(chars))
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), node, "-")
	cmd.Stdin = strings.NewReader(string(script) + fmt.Sprintf(`
		const samples = new Tones(%s, { rate: %d }).samples();
		process.stdout.write(Buffer.from(samples.buffer));`, numbers, rate))
	raw, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	samples := make([]float32, len(raw)/4)
	for i := range samples {
		samples[i] = math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:]))
	}
	return samples
}

func ints(chars []byte) []int {
	numbers := make([]int, len(chars))
	for i, c := range chars {
		numbers[i] = int(c)
	}
	return numbers
}

// heardIn are the characters that a demodulator hears without a mark, with silence
// before and behind.
func heardIn(samples []float32, rate float64) (chars []byte) {
	silence := make([]float32, int(rate/10))
	d := fsk.NewDemodulator(rate)
	for _, part := range [][]float32{silence, samples, silence} {
		d.Feed(part)
	}
	d.End()
	var h fsk.Heard
	for d.Next(&h) {
		if h.Carrier == 0 && h.Mark == 0 {
			chars = append(chars, h.Char)
		}
	}
	return chars
}
