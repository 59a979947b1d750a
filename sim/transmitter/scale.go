package transmitter

import (
	"fmt"

	"looptone/frame/unit"
	"looptone/sim/setting"
)

// A Scale is two values of one unit. Where it stands for 0 and 100 %, lower may
// be the larger one: the scale then runs backwards.
type Scale struct {
	Lower float64   `json:"lower"`
	Upper float64   `json:"upper"`
	Unit  unit.Code `json:"unit"`
}

// check looks at the scale by itself; name is the table of its settings.
func (s Scale) check(name string) error {
	if !s.Unit.Known() || s.Unit == unit.NotUsed {
		return setting.Refuse(name+".unit", fmt.Sprintf("unit code %d", uint8(s.Unit)), "the code of a unit")
	}
	if err := setting.Number(name+".lower", s.Lower); err != nil {
		return err
	}
	if err := setting.Number(name+".upper", s.Upper); err != nil {
		return err
	}
	if s.Lower == s.Upper {
		return s.refuseSpan(name)
	}
	return nil
}

// refuseSpan says that the scale has none.
func (s Scale) refuseSpan(name string) error {
	return setting.Refuse(name+".upper", quantity(s.Upper, s.Unit), "another value than %s.lower", name)
}

// toPercent gives a value as percent of the way from lower to upper.
type toPercent struct{ lower, upper float64 }

func (s *toPercent) Step(_, in float64) float64 {
	return (in - s.lower) / (s.upper - s.lower) * 100
}

// fromPercent is the way back.
type fromPercent struct{ lower, upper float64 }

func (s *fromPercent) Step(_, in float64) float64 {
	return s.lower + in/100*(s.upper-s.lower)
}

// quantity writes a value with the symbol of its unit.
func quantity(v float64, u unit.Code) string { return fmt.Sprintf("%g %v", v, u) }
