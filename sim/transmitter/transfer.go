package transmitter

import (
	"math"

	"looptone/sim/setting"
)

// Transfer is the transfer function, percent to percent. The zero value is
// linear.
type Transfer struct {
	Power         float64 // exponent of the power law, for instance 1/2; 0 and 1 are linear
	CutOffPercent float64 // an output below it is 0; 0 is off
}

func (f Transfer) check() error {
	if err := setting.NotNegative("transfer.power", f.Power); err != nil {
		return err
	}
	return setting.Within("transfer.cut_off_percent", f.CutOffPercent, 0, 100)
}

// transfer does what [Transfer] says.
type transfer struct{ power, cutOff float64 }

func (f *transfer) Step(_, in float64) float64 {
	out := in
	// A root of a negative percentage is 0; so is every power of it, lest reverse
	// flow read as forward flow.
	switch f.power {
	case 1:
	case 0.5: // far quicker than the power that it is
		out = 10 * math.Sqrt(notNegative(in))
	default:
		out = 100 * math.Pow(notNegative(in)/100, f.power)
	}
	if f.cutOff > 0 && out < f.cutOff {
		return 0
	}
	return out
}

// notNegative is v, or 0 where it is less. What is no number stays none.
func notNegative(v float64) float64 {
	if v < 0 {
		return 0
	}
	return v
}
