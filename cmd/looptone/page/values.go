package page

import (
	"math"

	"looptone/sim/transmitter"
)

// values are those of all devices now.
func (s *Scene) values() Values {
	now := s.assembly.Line.Now()
	v := Values{Time: now.Seconds(), Devices: make([]DeviceValue, len(s.assembly.Devices))}
	for i, d := range s.assembly.Devices {
		d.Transmitter().To(now)
		v.Devices[i] = s.valueOf(i)
		v.SumMA += d.Transmitter().WireCurrentMA()
	}
	return v
}

func (s *Scene) valueOf(i int) DeviceValue {
	d := s.assembly.Devices[i]
	t := d.Transmitter()
	outputs := t.Outputs()
	v := DeviceValue{
		Polling: int(d.Polling()), Mode: "moving", MA: number(t.WireCurrentMA()), Dark: s.assembly.Dark(i),
		Bursting: d.Looks(), Out: make([]*float64, len(outputs)),
	}
	switch {
	case d.Parked():
		v.Mode = "parked"
	case t.Status().CurrentFixed:
		v.Mode = "fixed"
	}
	for k, o := range outputs {
		v.Out[k] = number(o.Value)
	}
	if volts, ok := s.assembly.TerminalV(i); ok {
		v.V = number(volts)
	}
	pv, unit := t.PrimaryVariable()
	v.PVUnit = unit.String()
	if v.Dark == "" {
		v.PV, v.Percent = number(pv), number(t.PercentOfRange())
	}
	return v
}

// number is x, nil for none.
func number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// stageSays is what a stage does, in a sentence.
func stageSays(name string) string {
	switch name {
	case "process":
		return "The process is what there is to measure, before any sensor."
	case "totaliser_forward":
		return "The forward total leaves out what flows back."
	case "loop_current":
		return "The loop current is what the wires carry: what a meter in the loop shows."
	}
	for _, s := range transmitter.StageList() {
		if s.Name == name {
			return s.What
		}
	}
	return ""
}
