package transmitter

import (
	"fmt"

	"looptone/sim/setting"
)

// ControllerMode says who sets the manipulated variable. In Off as in Manual it is
// what [Controller] has as its manual value. The two differ for whoever asks
// whether there is control at all: a device whose controller is off does not have
// it drive a current that its polling address parks.
type ControllerMode uint8

const (
	Off    ControllerMode = iota // nobody: there is no control
	Manual                       // the operator
	Auto                         // the controller
)

// A Controller moves the manipulated variable until the process variable in
// percent is at its set point. It is a PID controller in the standard form of
// the ISA,
//
//	u = Gain × (e + 1/IntegralS × ∫e dt + DerivativeS × de/dt)
//
// with e, the set point less the process variable (Direct: the other way round).
// The derivative takes the process variable alone, so that a new set point does
// not kick it, through a first-order filter of DerivativeS/10.
//
// Nothing makes the manipulated variable jump but a new set point, by the
// proportional part, and what the process does: from Auto to Manual it stays
// where it is, from Manual to Auto the controller begins there, and other
// settings in Auto move the integral by what they change elsewhere.
//
// Source: common practice (standard form, derivative on measurement, bumpless
// transfer).
type Controller struct {
	Mode        ControllerMode
	Direct      bool    // the manipulated variable rises with the process variable; otherwise it falls
	SetPoint    float64 // percent
	Manual      float64 // the manipulated variable, percent, in Manual and in Off; in Auto where it began, then where it is
	Gain        float64
	IntegralS   float64 // integral time; 0 is none
	DerivativeS float64 // derivative time; 0 is none

	// Lower and Upper are the limits of the manipulated variable, percent; both 0
	// stand for 0 to 100.
	Lower, Upper float64
}

func (c Controller) withDefaults() Controller {
	if c.Lower == 0 && c.Upper == 0 {
		c.Upper = 100
	}
	return c
}

func (c *Controller) check() error {
	if c.Mode > Auto {
		return setting.Refuse("controller.mode", c.Mode, "off, manual or auto")
	}
	if err := setting.First(
		setting.Number("controller.set_point_percent", c.SetPoint),
		setting.Positive("controller.gain", c.Gain),
		setting.NotNegative("controller.integral_s", c.IntegralS),
		setting.NotNegative("controller.derivative_s", c.DerivativeS),
		setting.Number("controller.output_percent", c.Lower),
		setting.Number("controller.output_percent", c.Upper)); err != nil {
		return err
	}
	if c.Lower >= c.Upper {
		return setting.Refuse("controller.output_percent", fmt.Sprintf("%g to %g", c.Lower, c.Upper),
			"a lower limit, then an upper one")
	}
	return setting.Within("controller.manual_percent", c.Manual, c.Lower, c.Upper)
}

// within holds a manipulated variable between the limits.
func (c *Controller) within(u float64) float64 { return min(max(u, c.Lower), c.Upper) }

// take has the manual value follow the manipulated variable, as it does in Auto,
// and in the moment in which that ends unless it is set to another one then.
func (c *Controller) take(out float64) {
	if c.Mode == Auto || c.Manual == out {
		c.Manual = c.within(out)
	}
}
