package transmitter

import "math"

// filterN says how much shorter than the derivative time the time constant of
// its filter is.
//
// Source: common practice (8 to 20).
const filterN = 10

// pid does what [Controller] says: process variable to manipulated variable, both
// in percent. Between two grid points the process variable counts as a straight
// line, for which integral and filter are exact. Integration goes no further than
// to where the manipulated variable meets the limit that it pushes to, and leaves
// it at once when the error turns: so nothing winds up.
type pid struct {
	Controller
	sign     float64 // of the error: −1 where the action is direct
	share    float64 // of an error that one step integrates: dt/IntegralS
	lead     float64 // what the derivative makes of the lag: DerivativeS over the filter's time constant
	fade     float64 // of the lag is left after one step: e^(−dt/Tf)
	rise     float64 // of a step's movement adds to the lag: Tf/dt × (1 − fade)
	starting bool    // the integral is yet to be set so that the manipulated variable stays

	pv       float64 // at the grid point before; NaN where there was none
	lag      float64 // how far the filtered process variable is behind it
	integral float64 // of the manipulated variable, percent
	out      float64
}

// set gives it other settings, for steps of dt seconds, without a jump.
func (c *pid) set(to Controller, dt float64) {
	if to.Mode != Auto || c.Mode != Auto {
		c.starting = to.Mode == Auto
		c.tune(to, dt)
		c.out = c.within(to.Manual)
		return
	}
	if to == c.Controller {
		return
	}
	before, setPoint := c.sum(), to.SetPoint
	to.SetPoint = c.SetPoint
	limited := to.Lower != c.Lower || to.Upper != c.Upper
	c.tune(to, dt)
	c.integral += before - c.sum()
	if limited {
		c.integral += c.within(before) - before
	}
	c.SetPoint = setPoint
}

// begin has it start from its manual value on what comes next.
func (c *pid) begin() {
	c.pv, c.starting, c.out = math.NaN(), c.Mode == Auto, c.within(c.Manual)
}

// tune works out what follows from the settings.
func (c *pid) tune(to Controller, dt float64) {
	c.Controller = to
	c.sign, c.share, c.lead, c.fade, c.rise = 1, 0, 0, 0, 0
	if to.Direct {
		c.sign = -1
	}
	if to.IntegralS > 0 {
		c.share = dt / to.IntegralS
	}
	if to.DerivativeS > 0 {
		filter := to.DerivativeS / filterN
		c.lead, c.fade = filterN, math.Exp(-dt/filter)
		c.rise = filter / dt * -math.Expm1(-dt/filter)
	}
}

func (c *pid) Step(dt, pv float64) float64 {
	if math.IsNaN(pv) {
		return c.lose()
	}
	mean := c.err(pv)
	switch {
	case math.IsNaN(c.pv):
		c.lag = 0
	case dt > 0:
		c.lag = c.fade*c.lag + c.rise*(pv-c.pv)
		mean = (mean + c.err(c.pv)) / 2
	}
	c.pv = pv
	if c.Mode != Auto {
		return c.out
	}
	if c.starting {
		c.starting, c.integral = false, 0
		c.integral = c.out - c.sum()
		return c.out // to the last bit
	}
	if dt > 0 {
		c.integrate(c.Gain * c.share * mean)
	}
	c.out = c.within(c.sum())
	return c.out
}

// lose is a step without a process variable: the controller, if it is on, has no
// output then and begins where it was when there is one again.
func (c *pid) lose() float64 {
	c.pv = math.NaN()
	if c.Mode != Auto {
		return c.out
	}
	c.starting = true
	return c.pv
}

func (c *pid) err(pv float64) float64 { return c.sign * (c.SetPoint - pv) }

// sum is the manipulated variable without limits.
func (c *pid) sum() float64 {
	return c.Gain*(c.err(c.pv)-c.sign*c.lead*c.lag) + c.integral
}

// integrate moves the integral on by so many percent, as far as it may go.
func (c *pid) integrate(by float64) {
	room := by
	if sum := c.sum(); by > 0 {
		room = min(by, max(c.Upper-sum, 0))
	} else if by < 0 {
		room = max(by, min(c.Lower-sum, 0))
	}
	c.integral += room
}
