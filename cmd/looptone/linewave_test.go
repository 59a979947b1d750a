package main_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// A lineVoltage is a waveform of a line, in volts, at 48000 samples a second, and the log
// of what was on it.
type lineVoltage struct {
	volts []float64
	*lineRecord
}

const voltageRate = 48000

// voltage runs a line and reads its waveform: of 16 bits, behind a head of 44 bytes.
func voltage(t *testing.T, line string, fullScale string, args ...string) lineVoltage {
	t.Helper()
	file := filepath.Join(t.TempDir(), "line.wav")
	log := logged(t, slices.Concat([]string{lineFile(t, line), "--wav", file, "--full-scale", fullScale}, args)...)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	v := lineVoltage{lineRecord: record(t, log)}
	full := map[string]float64{"5": 5, "10": 10}[fullScale]
	for at := 44; at+1 < len(text); at += 2 {
		v.volts = append(v.volts, full*float64(int16(binary.LittleEndian.Uint16(text[at:])))/(1<<15))
	}
	if want := v.end * voltageRate / ticksPerSecond; int64(len(v.volts)) != want {
		t.Fatalf("got %d samples, want %d", len(v.volts), want)
	}
	return v
}

// part are the samples from one moment to another, in ticks.
func (v *lineVoltage) part(from, to int64) []float64 {
	return v.volts[from*voltageRate/ticksPerSecond+1 : to*voltageRate/ticksPerSecond-1]
}

// about reports what samples are about: their middle, and from peak to peak.
func about(samples []float64) (middle, peakToPeak float64) {
	least, most := slices.Min(samples), slices.Max(samples)
	return (most + least) / 2, most - least
}

// Two parked devices make 8 mA, 2 V across 250 ohm, and on that is who talks, with an
// amplitude of his own, at the times of the log and at no other.
//
// Source: Ohm's law; common practice (parked at 4 mA).
func TestVoltageOfALine(t *testing.T) {
	line := named + `[[master]]
kind = "primary"
[[device]]
tag = "PT-1"
polling = 1
kind = "pressure"
amplitude_v = 0.3
clock_ppm = 3000
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 2.5 }
[[device]]
tag = "PT-2"
polling = 2
kind = "pressure"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 7.5 }
`
	const step = 5.0 / (1 << 15)
	v := voltage(t, line, "5", "--fast", "10s")
	amplitude, talked, quiet := map[string]float64{"PT-1": 0.3, "PT-2": 0.5, "primary master": 0.5}, map[string]int{}, int64(0)
	for _, c := range v.carriers {
		if c.Off > v.end {
			break
		}
		talked[c.Talker]++
		for _, is := range []struct {
			from, to int64
			want     float64
		}{{quiet, c.On, 0}, {c.On, c.Off, amplitude[c.Talker]}} {
			if is.from == is.to {
				continue
			}
			middle, swing := about(v.part(is.from, is.to))
			if math.Abs(middle-2) > 0.002 || math.Abs(swing-is.want) > 0.004 {
				t.Errorf("%s, %d to %d: got %.4f V around %.4f V, want %.4f V around 2 V", c.Talker, is.from, is.to, swing, middle, is.want)
			}
		}
		quiet = c.Off
	}
	if len(talked) != 3 || talked["PT-1"] < 3 || talked["PT-2"] < 3 {
		t.Errorf("talked %v, want everybody a few times", talked)
	}
	if middle, swing := about(v.part(0, v.carriers[0].On)); swing > step || math.Abs(middle-2) > step {
		t.Errorf("before anybody talks: %g V around %g V, want 2 V alone", swing, middle)
	}
}

// A current that is set from 4 to 20 mA gets there without a step: by no more than a
// filter of 25 Hz lets it, two poles of which at one place rise by ω/e a second at the
// most.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), 1.5.2 (25 Hz); the
// response of two equal poles, 1 - (1+ωt)·exp(-ωt), from memory.
func TestLoopCurrentMovesWithoutSteps(t *testing.T) {
	v := voltage(t, named+`[[device]]
tag = "PT-1"
polling = 0
kind = "pressure"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "step", before = 0.0, after = 10.0, start_s = 1 }
`, "10", "--fast", "2s")
	const step = 10.0 / (1 << 15)
	omega := 2 * math.Pi * 25 / math.Sqrt(math.Sqrt2-1)
	for i, got := range v.volts {
		late := max(float64(i+1)/voltageRate-1, 0) // the first sample behind it has moved
		want := 1 + 4*(1-(1+omega*late)*math.Exp(-omega*late))
		if math.Abs(got-want) > step+4*omega/math.E/voltageRate {
			t.Fatalf("%d samples behind the step: got %.4f V, want %.4f V", i-voltageRate, got, want)
		}
		if i > 0 && (got < v.volts[i-1] || got-v.volts[i-1] > 4*omega/math.E/voltageRate+step) {
			t.Fatalf("%d samples behind the step: %.4f V follow %.4f V", i-voltageRate, got, v.volts[i-1])
		}
	}
}

// Two that talk at once add up.
func TestVoltageOfACollision(t *testing.T) {
	v := voltage(t, named+`[[master]]
kind = "primary"
poll = [ { device = "PT-1", command = 3 } ]
[[device]]
tag = "PT-1"
polling = 3
kind = "pressure"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 2.5 }
`, "5", "--fast", "10s", "--fault", "noise, level_v=0.5, every_s=0.2, noise_chars=20")
	var swings []float64
	for i, c := range v.carriers[1:] {
		if last := v.carriers[i]; min(c.Off, last.Off)-c.On > characterTicks {
			_, swing := about(v.part(max(c.On, last.On), min(c.Off, last.Off)))
			swings = append(swings, swing)
		}
	}
	if len(swings) < 2 || slices.Min(swings) < 0.6 || slices.Max(swings) > 1.001 || slices.Max(swings) < 0.95 {
		t.Errorf("two of 0.5 V at once make %.3f V, want more than one alone and up to 1 V", swings)
	}
}

// The same seed makes the same file, another one another, and the line is the same as
// without one.
func TestWaveformIsTheSameAgain(t *testing.T) {
	run := func(args ...string) (wav [sha256.Size]byte, said []byte) {
		file := filepath.Join(t.TempDir(), "line.wav")
		cmd := looptone(t, slices.Concat([]string{"sim", "../../testdata/lines/two-masters.toml", "--fast", "20s", "--json"}, args)...)
		if len(args) > 0 {
			cmd.Args = append(cmd.Args, "--wav", file, "--rate", "9600")
		}
		said, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		if text, err := os.ReadFile(file); err == nil {
			wav = sha256.Sum256(text)
		}
		return wav, said
	}
	one, said := run("--seed", "1")
	again, saidAgain := run("--seed", "1")
	other, _ := run("--seed", "2")
	if one != again || one == other || !bytes.Equal(said, saidAgain) {
		t.Errorf("seed 1 made %x and %x, seed 2 %x; the same said %v", one[:4], again[:4], other[:4], bytes.Equal(said, saidAgain))
	}
	if _, without := run(); !bytes.Equal(said, without) { // the file's seed is 1
		t.Error("with a waveform the line says something else than without")
	}
}

// TestMeasuredWaveformOfALine: of a line whose talkers keep the rules nothing is found
// wrong, though they follow each other without a pause, and the end cuts one off.
func TestMeasuredWaveformOfALine(t *testing.T) {
	file := filepath.Join(t.TempDir(), "line.wav")
	if said, err := looptone(t, "sim", "../../testdata/lines/two-masters.toml", "--fast", "20s", "--wav", file).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	said, err := looptone(t, "measure", file).Output()
	if err != nil || !bytes.Contains(said, []byte("\nEverything that could be measured is in order.\n")) {
		t.Errorf("%v: %s", err, said)
	}
}
