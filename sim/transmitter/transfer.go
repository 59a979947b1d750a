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
	if c := f.CutOffPercent; !(c >= 0 && c <= 100) {
		return setting.Refuse("transfer.cut_off_percent", c, "0 to 100")
	}
	return nil
}

// transfer does what [Transfer] says.
type transfer struct{ power, cutOff float64 }

func (f transfer) Step(_, in float64) float64 {
	out := in
	if f.power != 1 {
		// A root of a negative percentage is 0; so is every power of it, lest
		// reverse flow read as forward flow.
		out = 100 * math.Pow(max(in, 0)/100, f.power)
	}
	if f.cutOff > 0 && out < f.cutOff {
		return 0
	}
	return out
}
