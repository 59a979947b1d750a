package linefile

import (
	"looptone/frame/userfile"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// controller reads a controller. How it is switched on must be said; its gain is
// 1, and it neither integrates nor derives unless it is told to.
func controller(t *userfile.Table) *transmitter.Controller {
	t.Need("mode", `"auto"`)
	mode, _ := t.Choice("mode", "off", "manual", "auto")
	action, _ := t.Choice("action", "reverse", "direct")
	c := &transmitter.Controller{
		Direct:      action == "direct",
		SetPoint:    t.Number("set_point_percent", 50),
		Gain:        t.Number("gain", 1),
		IntegralS:   t.Number("integral_s", 0),
		DerivativeS: t.Number("derivative_s", 0),
	}
	switch mode {
	case "manual":
		c.Mode = transmitter.Manual
	case "auto":
		c.Mode = transmitter.Auto
	}
	c.Lower, c.Upper = limits(t)
	c.Manual = t.Number("manual_percent", c.Lower)
	return c
}

// limits reads those of a controller. The transmitter does not see that two
// zeros were given.
func limits(t *userfile.Table) (lower, upper float64) {
	const key = "output_percent"
	lower, upper, ok := pair(t, key, "[0, 100]")
	if !ok {
		return 0, 100
	}
	if lower == 0 && upper == 0 {
		t.Refuse(key, setting.Refuse("controller."+key, "0 to 0", "a lower limit, then an upper one"))
	}
	return lower, upper
}
