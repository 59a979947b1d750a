package measure

import (
	"math"
	"math/cmplx"
)

// A ramp is a carrier that goes on or off.
type ramp struct {
	ok   bool
	at   float64 // where it has half its amplitude
	took float64 // from a tenth to nine tenths or back, in samples; NaN where noise hides that
	off  float64 // that noise moves at by: a standard deviation, in bits
}

// mostHidden is the noise of an amplitude, as a share of it, in which a tenth is still seen:
// three standard deviations are a tenth.
const mostHidden = 0.1 / 3

// findEnds finds where the carrier goes on and off, if it was heard to.
func (s *stretch) findEnds() {
	bit := s.bit()
	if !math.IsNaN(s.on) {
		s.began = s.ramp(s.chars[0].at-bit/2, -1)
		if s.began.ok {
			s.on = s.began.at
		}
	}
	if last := len(s.chars) - 1; !math.IsNaN(s.off) {
		s.ended = s.ramp(s.chars[last].end()-bit/2, 1)
		if s.ended.ok {
			s.off = s.ended.at
		}
	}
}

// ramp walks from a place in the mark to where that is gone. Its amplitude is that of one
// period, which is a bit, so an end at once takes 0.8 bits from a tenth to nine tenths;
// what is more than that is the carrier's own.
func (s *stretch) ramp(from float64, direction int) (r ramp) {
	full := s.amplitude(true).mean
	if full == 0 {
		return r
	}
	w := s.w[1]
	period := 2 * math.Pi / w
	half := int(period / 2)
	at := [3]float64{0.9, 0.5, 0.1}
	var crossed [3]float64
	next, last := 0, 1.0
	for n := int(math.Round(from)); n-half >= 0 && n+half < len(s.clean); n += direction {
		level := s.level(n, half, w) / full
		for next < 3 && level < at[next] {
			share := 0.0
			if last > level {
				share = min(max((last-at[next])/(last-level), 0), 1)
			}
			crossed[next] = float64(n) + float64(direction)*(share-1)
			next++
		}
		if next == 3 {
			took := math.Abs(crossed[2] - crossed[0])
			own := 0.8 * period
			r = ramp{ok: true, at: crossed[1], took: math.Sqrt(max(took*took-own*own, 0)), off: s.sigma / full * math.Sqrt(2/period)}
			if r.off > mostHidden {
				r.took = math.NaN()
			}
			return r
		}
		last = level
	}
	return r
}

// level is the amplitude of a tone in the period around a sample.
func (s *stretch) level(n, half int, w float64) float64 {
	var z complex128
	back := sinusoid{z: 1, w: -w}
	turning := back.rotor(n - half)
	for i := n - half; i <= n+half; i++ {
		weight := 1.0
		if i == n-half || i == n+half {
			weight = (2*math.Pi/w - float64(2*half-1)) / 2 // the period is no whole number
		}
		now, v := turning.next(), weight*s.clean[i]
		z += complex(v*real(now), v*imag(now))
	}
	return cmplx.Abs(z) * w / math.Pi
}
