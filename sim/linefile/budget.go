package linefile

import (
	"looptone/sim/loop"
	"looptone/sim/transmitter"
)

// Loop is the electricity of the line, as it is described; its devices are in the order
// of the description.
func (d *Description) Loop() *loop.Loop {
	l, _ := d.plan.wires() // which was checked
	return l
}

// Budget reckons the loop with the currents that the devices draw at line time 0, and
// with the highest that each may come to: what it is parked or held at, else the higher
// one of its upper saturation limit and its failure current. An error is that of
// [Description.Assemble].
func (d *Description) Budget(seed *uint64) (*loop.Budget, error) {
	a, err := d.Assemble(seed, nil)
	if err != nil {
		return nil, err
	}
	defer a.Close()
	var now, worst []float64
	for _, dev := range a.Devices {
		t := dev.Transmitter()
		t.To(0)
		now, worst = append(now, t.WantMA()), append(worst, worstMA(t))
	}
	return d.Loop().Reckon(now, worst), nil
}

// worstMA is the highest current that a transmitter may come to as it is set.
func worstMA(t *transmitter.Transmitter) float64 {
	c := t.Config().Current
	if c.Mode == transmitter.Fixed {
		return t.WantMA()
	}
	ma := max(c.UpperMA, c.FailureMA)
	ma = c.Converter.Gain*(c.Trim.Gain*ma+c.Trim.Offset) + c.Converter.Offset
	return max(ma, 0)
}
