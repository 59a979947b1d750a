package fsk_test

import (
	"math"
	"testing"

	"looptone/serialio/fsk"
)

// A carrier is known within six bit times of its beginning: so much has a modem for its
// carrier detect. Its end is known within three milliseconds and six bits.
//
// Source: Texas Instruments DAC8742H data sheet, HART timing table (carrier detect on
// within 6 bit times, off within 3 ms); that off may take some bits more here: from memory.
func TestCarrierIsKnownInTime(t *testing.T) {
	r := seeded(4)
	var on, off float64
	for range 60 {
		rate := append(fileRates, 8000, 250e3)[r.IntN(8)]
		k := &talk{at: 0.03 + r.Float64()/30, lead: 12, tail: 3 + 3*r.Float64(), chars: message(r, 8),
			amplitude: math.Pow(10, 4*r.Float64()-3), phase: 2 * math.Pi * r.Float64(), clock: 0.02 * (r.Float64() - 0.5)}
		samples, want := render(rate, k.end()+0.05, k)
		heard := hear(rate, narrow(samples), 64)
		expectAll(t, want, heard)
		var carriers []fsk.Heard
		for _, h := range heard {
			if h.Carrier != 0 {
				carriers = append(carriers, h)
			}
		}
		if len(carriers) != 2 {
			t.Errorf("%v S/s: got %d carriers on and off, want 2", rate, len(carriers))
			continue
		}
		on = max(on, (carriers[0].Known-k.at)*1200)
		off = max(off, (carriers[1].Known-k.end())*1200)
		if d := (carriers[0].At - k.at) * 1200; math.Abs(d) > 3 {
			t.Errorf("%v S/s: carrier on is %.2f bits off its place", rate, d)
		}
		if d := (carriers[1].At - k.end()) * 1200; math.Abs(d) > 3 {
			t.Errorf("%v S/s: carrier off is %.2f bits off its place", rate, d)
		}
	}
	t.Logf("carrier on is known after at most %.2f bits, off after %.2f", on, off)
	if on > 6 {
		t.Errorf("carrier on is known after %.2f bits, want 6 at most", on)
	}
	if off > 10 {
		t.Errorf("carrier off is known after %.2f bits, want 10 at most", off)
	}
}
