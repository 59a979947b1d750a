package fsk_test

import (
	"math"
	"testing"
)

// What theory says of two tones 1000 Hz apart at 1200 bit/s with continuous phase, in
// white noise, for characters of 11 bits. The tones are not orthogonal over a bit.
//
// Source: Proakis, Digital Communications, chapters 4 and 5, from memory (binary signals
// with a correlation, coherent and not; the least distance of a continuous phase).
const modulationIndex = 1000.0 / 1200

// envelopeCorrelation and correlation are of the two tones over a bit.
func envelopeCorrelation() float64 {
	x := math.Pi * modulationIndex
	return math.Sin(x) / x
}

func correlation() float64 {
	x := 2 * math.Pi * modulationIndex
	return math.Sin(x) / x
}

// besselI is the modified Bessel function of the first kind of an order, times exp(-x),
// by its series.
func besselI(order int, x float64) float64 {
	lg, _ := math.Lgamma(float64(order) + 1)
	term := math.Exp(float64(order)*math.Log(x/2) - lg - x)
	sum := term
	for k := 1; k < 500 && term > sum*1e-16; k++ {
		term *= x / 2 * (x / 2) / float64(k) / float64(k+order)
		sum += term
	}
	return sum
}

// marcumQ is Q1(a, b) for a < b, by its series in Bessel functions.
func marcumQ(a, b float64) (q float64) {
	for k := range 100 {
		q += math.Pow(a/b, float64(k)) * besselI(k, a*b)
	}
	return q * math.Exp(-(a-b)*(a-b)/2)
}

// gauss is the upper tail of the normal distribution.
func gauss(x float64) float64 { return math.Erfc(x/math.Sqrt2) / 2 }

// The bit errors of three receivers at an Eb/N0 that is no dB.
var receivers = []struct {
	name string
	bits func(snr float64) float64
	want float64 // dB for a character error rate of 1e-3
}{
	{"without phase, bit by bit", func(snr float64) float64 {
		root := math.Sqrt(1 - envelopeCorrelation()*envelopeCorrelation())
		a, b := math.Sqrt(snr/2*(1-root)), math.Sqrt(snr/2*(1+root))
		return marcumQ(a, b) - besselI(0, a*b)*math.Exp(-(a-b)*(a-b)/2)/2
	}, 12.75},
	{"with phase, bit by bit", func(snr float64) float64 { return gauss(math.Sqrt(snr * (1 - correlation()))) }, 10.80},
	{"whole sequences", sequenceBits, 7.8},
}

// sequenceBits is of the best receiver that there can be: it weighs whole sequences, and
// two that differ in one bit differ in phase behind it until they meet again.
func sequenceBits(snr float64) float64 { return gauss(math.Sqrt(2 * (1 - correlation()) * snr)) }

// ofCharacter is the error rate of characters for one of bits.
func ofCharacter(bits float64) float64 { return 1 - math.Pow(1-bits, 11) }

func fromDB(db float64) float64 { return math.Pow(10, db/10) }

// neededDB is the Eb/N0 at which a receiver has a character error rate of 1e-3.
func neededDB(bits func(snr float64) float64) float64 {
	low, high := 0.0, 20.0
	for range 50 {
		db := (low + high) / 2
		if ofCharacter(bits(fromDB(db))) > 1e-3 {
			low = db
		} else {
			high = db
		}
	}
	return low
}

// The formulas give what independent programs have measured: 12.6, 11.0 and 7.7 dB.
func TestTheory(t *testing.T) {
	for _, r := range receivers {
		if got := neededDB(r.bits); math.Abs(got-r.want) > 0.06 {
			t.Errorf("%s: got %.2f dB for 1e-3, want %.2f", r.name, got, r.want)
		}
	}
	for _, x := range [][2]float64{{1e-6, 2}, {1, 2}, {1.3, 5}, {2, 2.5}} {
		if got, want := marcumQ(x[0], x[1]), integralQ(x[0], x[1]); math.Abs(got/want-1) > 1e-4 {
			t.Errorf("Q1(%v, %v) = %.6g by its series, %.6g by its integral", x[0], x[1], got, want)
		}
	}
}

// integralQ is Q1(a, b) as it is defined: the part of the Rice distribution above b.
func integralQ(a, b float64) (q float64) {
	const dx = 1e-3
	for x := b + dx/2; x < b+15; x += dx {
		q += dx * x * math.Exp(-(x-a)*(x-a)/2) * besselI(0, a*x)
	}
	return q
}
