package measure

import "math"

// totals are what all carriers come to.
type totals struct {
	carriers int
	chars    int64
	doubtful int64

	everything              tally        // all samples
	spectrum                *periodogram // of all samples, as long as there is no character
	silent, talking         *periodogram // between carriers; beside the tones
	mark, space             toneTally
	devices                 tally // amplitude of devices, peak to peak
	bitRate                 tally
	lead, tail, rise, decay tally // in bits
	endsOff                 float64
	level                   tally // of what lies under the tones
	offEdge                 rms   // of edges from where they should be, in bits
	distortion              tally // of each group of characters, in bits
	startStop               float64
	edges                   int64
	jump                    rms // radians
	largestJump             float64
	resolution              tally
	eye                     Eye
	opening                 opening
	glimpse                 Glimpse
}

// segment is the least length of what noise is told from, in seconds: it tells mains from
// the movement of the loop current.
const segment = 0.04

func newTotals(rate float64) totals {
	return totals{
		spectrum: newPeriodogram(rate, 2*segment),
		silent:   newPeriodogram(rate, segment),
		talking:  newPeriodogram(rate, segment),
		eye:      newEye(),
		opening:  opening{mark: math.Inf(1), space: math.Inf(-1)},
	}
}

// beside adds what is left of a stretch when the tones are taken away, where they are known.
func (m *meter) beside(s *stretch) {
	m.talking.cut()
	from, to := int(s.startOf(0)), int(s.chars[len(s.chars)-1].end())
	for i := max(from, 0); i < min(to, len(s.x)); i++ {
		if !s.known[i] {
			m.talking.cut()
			continue
		}
		m.talking.add(s.x[i] - s.tones[i])
	}
}
