package fsk_test

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"looptone/serialio/capture"
	"looptone/serialio/fsk"
	"looptone/serialio/wave"
)

// Where no character was found, what there was is told, at any rate of samples.
func TestWhatThereWasInstead(t *testing.T) {
	const volts, swing = 2.5, 0.5
	for _, rate := range []float64{8000, 9600, 44100, 48000, 250e3} {
		for _, c := range []struct {
			what    string
			seconds float64
			hz      float64 // of a tone; 0 for none
			want    string
		}{
			{"three samples", 3 / rate, 0, "no character: the recording is shorter than one"},
			{"silence", 0.1, 0, "no character, only silence: the level stays at 2.5"},
			{"1200 Hz", 0.1, 1200, "one carrier, but no character: %g peak to peak, loudest at 1200 Hz"},
			{"2200 Hz", 0.1, 2200, "no carrier and no character: %g peak to peak, loudest at 2200 Hz"},
			{"hum", 0.5, 50, "no carrier and no character: %g peak to peak, loudest at 50 Hz"},
		} {
			t.Run(fmt.Sprint(c.what, "/", rate), func(t *testing.T) {
				var text strings.Builder
				for n := range int(math.Round(c.seconds * rate)) {
					fmt.Fprintln(&text, volts+swing/2*math.Sin(2*math.Pi*c.hz*float64(n)/rate))
				}
				samples, err := wave.Open(strings.NewReader(text.String()), "trace", wave.Options{Rate: rate})
				if err != nil {
					t.Fatal(err)
				}
				r := fsk.NewReader(samples, "trace")
				for rec := new(capture.Record); err == nil; {
					err = r.Next(rec)
				}
				got, level := r.Told(), swing
				if strings.Contains(c.want, "%g") {
					fmt.Sscanf(got, c.want, &level)
					c.want = fmt.Sprintf(c.want, level)
				}
				if err != io.EOF || got != c.want || math.Abs(level-swing) > 0.03*swing {
					t.Errorf("%v: got %q, want %q, and %v give or take 3 %%", err, got, c.want, swing)
				}
			})
		}
	}
}
