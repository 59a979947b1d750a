package transmitter

import (
	"fmt"
	"math"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// A Totaliser adds up the flow that the primary variable is. Between two grid
// points a flow counts as a straight line, so that the totals of a flow which is
// one are exact. A flow that is no number adds nothing.
type Totaliser struct {
	Unit  unit.Code // of volume where the flow is one of volume, of mass where it is one of mass
	Begin Totals    // at line time 0
}

// Totals are what has flowed through, in the totaliser's unit.
type Totals struct {
	Net     float64 `json:"net"`     // what flowed back is taken off
	Forward float64 `json:"forward"` // what flowed back does not count
}

func (t Totals) check() error {
	return setting.First(
		setting.Number("totaliser.net", t.Net),
		setting.NotNegative("totaliser.forward", t.Forward))
}

// amounts are the flows of one amount in a number of seconds, by which flows
// convert to amounts.
//
// Source: the units' own meaning.
var amounts = []struct {
	flow, amount unit.Code
	seconds      float64
}{
	{28, 43, 1},      // m³/s
	{73, 61, 1},      // kg/s
	{121, 166, 3600}, // normal m³/h
	{123, 168, 60},   // standard ft³/min
}

// perSecond is how much a flow of 1 brings in a second. The error is that of
// [setting.Refuse].
func perSecond(flow, amount unit.Code) (float64, error) {
	for _, a := range amounts {
		flowing, err := unit.Convert(1, flow, a.flow)
		if err != nil {
			continue
		}
		brought, err := unit.Convert(1, a.amount, amount)
		if err != nil {
			return 0, setting.Refuse("totaliser.unit", amount, "a unit of %v for a %v in %v, for instance %v",
				a.amount.Quantity(), a.flow.Quantity(), flow, a.amount)
		}
		return flowing * brought / a.seconds, nil
	}
	return 0, setting.Refuse("totaliser.unit", fmt.Sprintf("%v, but the primary variable is in %v", amount, flow),
		"a primary variable that is a flow, for instance by a user_unit in m³/h or kg/h")
}

// totaliser does what [Totaliser] says: flow to net total.
type totaliser struct {
	unit         unit.Code
	perStep      float64 // what a flow of 1 brings from one grid point to the next
	flow         float64 // at the grid point before
	net, forward sum
}

// set gives it the unit of the flow and that of the totals, for steps that long,
// in seconds. Both have been checked. What was added up stays.
func (t *totaliser) set(flow, amount unit.Code, step float64) {
	brought, _ := perSecond(flow, amount)
	t.perStep = brought * step
	if t.unit != 0 && t.unit != amount {
		totals := t.totals()
		totals.Net, _ = unit.Convert(totals.Net, t.unit, amount)
		totals.Forward, _ = unit.Convert(totals.Forward, t.unit, amount)
		t.setTotals(totals)
	}
	t.unit = amount
}

func (t *totaliser) totals() Totals { return Totals{t.net.value(), t.forward.value()} }

func (t *totaliser) setTotals(to Totals) { t.net, t.forward = sum{high: to.Net}, sum{high: to.Forward} }

func (t *totaliser) Step(dt, flow float64) float64 {
	if both := t.flow + flow; dt > 0 && !math.IsNaN(both) {
		t.net.add(t.perStep * (both / 2))
		t.forward.add(t.perStep * meanForward(t.flow, flow))
	}
	t.flow = flow
	return t.net.value()
}

// meanForward is the mean of the part above 0 of a straight line.
func meanForward(from, to float64) float64 {
	lower, upper := min(from, to), max(from, to)
	switch {
	case lower >= 0:
		return (from + to) / 2
	case upper <= 0:
		return 0
	}
	return upper / 2 * (upper / (upper - lower))
}

// forwardTotal is the other output of a totaliser.
type forwardTotal totaliser

func (t *forwardTotal) Step(_, _ float64) float64 { return t.forward.value() }

// Totals are what has been added up to the grid point reached; zero without a
// totaliser.
func (t *Transmitter) Totals() Totals { return t.stages.totaliser.totals() }

// SetTotals has the totals go on from there at the moment now; without a
// totaliser it does nothing.
func (t *Transmitter) SetTotals(now sim.Tick, totals Totals) {
	t.To(now)
	if t.cfg.Totaliser == nil {
		return
	}
	t.stages.totaliser.setTotals(totals)
	t.settle()
}
