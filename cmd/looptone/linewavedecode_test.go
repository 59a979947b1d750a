package main_test

import (
	"bytes"
	"encoding/json"
	"math"
	"path/filepath"
	"testing"
)

// A wireMessage is what of an object of decode or sim says what was sent, and when.
type wireMessage struct {
	Event, Frame string
	Time         float64
}

// framesOf are the frames among objects.
func framesOf(t *testing.T, objects []byte) (frames []wireMessage) {
	t.Helper()
	for line := range bytes.Lines(objects) {
		var m wireMessage
		if err := json.Unmarshal(line, &m); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		if m.Event == "frame" {
			frames = append(frames, m)
		}
	}
	return frames
}

// What a line is rendered as, decoded, is what the line says: the same messages, at the
// same times, within a quarter of a bit. Loop currents move under the tones, a device has
// a clock that is 0.3 % wrong, and another one weak tones.
func TestDecodedWaveformOfALine(t *testing.T) {
	line := lineFile(t, named+bothMasters+`[[device]]
tag = "PT-1"
polling = 1
kind = "pressure"
loop_current_mode = "modulated"
clock_ppm = 3000
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "sine", low = 0.0, high = 10.0, period_s = 1 }
[[device]]
tag = "TT-2"
polling = 2
amplitude_v = 0.2
kind = "temperature"
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "constant", value = 20.0 }
[[device]]
tag = "LT-4"
polling = 4
revision = 5
kind = "level"
sensor = { lower = 0.0, upper = 40.0, unit = "kPa" }
process = { model = "constant", value = 10.0 }
`)
	for _, rate := range []string{"9600", "44100", "48000"} {
		file := filepath.Join(t.TempDir(), "line.wav")
		said, err := looptone(t, "sim", line, "--fast", "20s", "--json", "--wav", file, "--rate", rate).Output()
		if err != nil {
			t.Fatal(err)
		}
		read, err := looptone(t, "decode", "--json", file).Output()
		if err != nil {
			t.Fatalf("at %s samples a second: %v", rate, err)
		}
		want, got := framesOf(t, said), framesOf(t, read)
		if len(want) < 20 || len(got) != len(want) && len(got) != len(want)+1 { // the end may fall between a message and when the line tells of it
			t.Fatalf("at %s samples a second: decoded %d messages, the line says %d", rate, len(got), len(want))
		}
		for i, w := range want {
			if g := got[i]; g.Frame != w.Frame || math.Abs(g.Time-w.Time) > 0.25/1200 {
				t.Errorf("at %s samples a second, message %d: got %s at %.6f s, want %s at %.6f s", rate, i+1, g.Frame, g.Time, w.Frame, w.Time)
			}
		}
	}
}
