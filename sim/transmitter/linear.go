package transmitter

import "looptone/frame/unit"

// linear is a straight line: its input times gain, plus offset.
type linear struct{ Gain, Offset float64 }

func (l *linear) Step(_, in float64) float64 { return in*l.Gain + l.Offset }

// conversion is the way from one unit to another. The error is that of
// [unit.Convert].
func conversion(from, to unit.Code) (linear, error) {
	zero, err := unit.Convert(0, from, to)
	if err != nil {
		return linear{}, err
	}
	one, _ := unit.Convert(1, from, to) // as zero did
	return linear{one - zero, zero}, nil
}
