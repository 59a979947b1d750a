package fsk

import (
	"fmt"
	"math"
	"strconv"
)

// A survey is what can be said of samples in which no character was found.
type survey struct {
	least, most float64
	samples     int64              // of the inner rate
	loudest     float64            // the greatest variance of a piece
	piece       [cellsHeld]float64 // that one
	length      int                // of it
	carriers    int
	chars       int64
}

// look takes in the newest samples, up to as many as the front holds.
func (s *survey) look(f *front, n int) {
	const few = 3 // one in so many is enough
	var sum, squares, count float64
	if s.samples == 0 {
		s.least, s.most = f.past(f.n-1), f.past(f.n-1)
	}
	for k := 1; k <= n; k += few {
		v := f.past(f.n - int64(k))
		if v < s.least {
			s.least = v
		} else if v > s.most {
			s.most = v
		}
		sum += v
		squares += v * v
		count++
	}
	s.samples += int64(n)
	mean := sum / count
	if v := squares/count - mean*mean; s.length == 0 || v > s.loudest {
		s.loudest, s.length = v, n
		for k := range n {
			s.piece[k] = f.past(f.n-int64(n)+int64(k)) - mean
		}
	}
}

// frequency is where the loudest piece is loudest, in Hz.
func (s *survey) frequency() float64 {
	const step = 10.0
	var best, most float64
	for hz := step; hz < innerRate/2; hz += step {
		var c, d float64
		for k, v := range s.piece[:s.length] {
			window := 1 - math.Cos(2*math.Pi*(float64(k)+0.5)/float64(s.length))
			sin, cos := math.Sincos(2 * math.Pi * hz / innerRate * float64(k))
			c += v * window * cos
			d += v * window * sin
		}
		if p := c*c + d*d; p > most {
			best, most = hz, p
		}
	}
	return best
}

// String is a sentence, or nothing where there were characters.
func (s *survey) String() string {
	if s.chars > 0 {
		return ""
	}
	swing := s.most - s.least
	switch {
	case s.samples < charCells:
		return "no character: the recording is shorter than one"
	case swing <= 4*rounding*max(math.Abs(s.most), math.Abs(s.least)):
		return "no character, only silence: the level stays at " + plainly(s.most, 4)
	}
	what := fmt.Sprintf("%s peak to peak, loudest at %.0f Hz", plainly(swing, 2), s.frequency())
	switch s.carriers {
	case 0:
		return "no carrier and no character: " + what
	case 1:
		return "one carrier, but no character: " + what
	}
	return fmt.Sprintf("%d carriers, but no character: %s", s.carriers, what)
}

// plainly is a number with so many digits, and without an exponent.
func plainly(v float64, digits int) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
