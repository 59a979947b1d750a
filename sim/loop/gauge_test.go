package loop

import (
	"math"
	"testing"
)

// TestCopperWireTable compares with ohm per 1000 ft of annealed copper at 20 °C, to four
// digits.
//
// Source: from memory (NBS Handbook 100, Copper Wire Tables, 1966).
func TestCopperWireTable(t *testing.T) {
	table := map[int]float64{
		10: 0.9989, 12: 1.588, 14: 2.525, 16: 4.016, 18: 6.385, 20: 10.15, 22: 16.14, 24: 25.67,
	}
	const thousandFeet = 0.3048 // km
	for awg, want := range table {
		perKM, ok := OhmPerKM(awg)
		got := perKM * thousandFeet
		if !ok || math.Abs(got/want-1) > 5e-4 {
			t.Errorf("%d AWG: %.4g ohm per 1000 ft, %v, want %.4g", awg, got, ok, want)
		}
	}
}

func TestGaugesThereAreNot(t *testing.T) {
	for _, awg := range []int{-1, 41, 1000} {
		if ohm, ok := OhmPerKM(awg); ok || ohm != 0 {
			t.Errorf("%d AWG: %v ohm/km, %v", awg, ohm, ok)
		}
	}
	thick, _ := OhmPerKM(0)
	for awg := 1; awg <= 40; awg++ {
		thin, ok := OhmPerKM(awg)
		if !ok || thin <= thick {
			t.Errorf("%d AWG: %v ohm/km, %v, no more than %d AWG", awg, thin, ok, awg-1)
		}
		thick = thin
	}
}

// TestGaugeOfAMend is never thinner than what is allowed.
func TestGaugeOfAMend(t *testing.T) {
	for _, tt := range []struct {
		ohmPerKM float64
		want     string
	}{{1000, " (24 AWG)"}, {21, " (18 AWG)"}, {20.9, " (16 AWG)"}, {3.3, " (10 AWG)"}, {3.2, ""}} {
		if got := gauge(tt.ohmPerKM); got != tt.want {
			t.Errorf("%v ohm/km: %q, want %q", tt.ohmPerKM, got, tt.want)
		}
	}
}
