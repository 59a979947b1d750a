package transmitter

import (
	"math"

	"looptone/frame/unit"
)

// Config is how the transmitter is set now, defaults put in. The manual value of
// a controller in Auto is what it puts out.
func (t *Transmitter) Config() Config {
	cfg := t.cfg.clone()
	if c := cfg.Controller; c != nil && c.Mode == Auto {
		c.Manual = t.stages.controller.out
	}
	return cfg
}

// Outputs lists the process and what stands behind every stage, in order of the
// path. Behind the totaliser stand the net and the forward total
// (totaliser_forward), behind the output the current that the loop carries
// (loop_current). Without power that is 0, and behind every stage stands no number.
func (t *Transmitter) Outputs() []Output {
	list := make([]Output, len(t.path))
	for i := range t.path {
		list[i] = t.outputAt(i)
	}
	return list
}

// outputAt is what can be read at place i of the path.
func (t *Transmitter) outputAt(i int) Output {
	o := t.path[i].Output
	switch {
	case i == 0 || !t.dark:
	case i == len(t.path)-1:
		o.Value = 0
	default:
		o.Value = math.NaN()
	}
	return o
}

// Output is the one of [Transmitter.Outputs] with that name; ok is false where
// the transmitter has none.
func (t *Transmitter) Output(name string) (o Output, ok bool) {
	for i := range t.path {
		if t.path[i].Name == name {
			return t.outputAt(i), true
		}
	}
	return Output{}, false
}

// PrimaryVariable is the value that the transmitter measures and its unit: in
// its user unit, or without one what goes into the range, in the range's unit.
// Transfer function and table have a say in it by a user unit that stands behind
// them.
func (t *Transmitter) PrimaryVariable() (value float64, u unit.Code) {
	if i := t.taps.scaled; i != 0 {
		return t.path[i].Value, t.path[i].Unit
	}
	value, _ = unit.Convert(t.Value(), t.cfg.Sensor.Unit, t.cfg.Range.Unit) // as New has
	return value, t.cfg.Range.Unit
}

// PercentOfRange is the process variable in percent, which a modulated current
// follows where it does not follow a controller. It leaves 0 to 100 where the
// measured value leaves the range, and lives on while the current is parked.
func (t *Transmitter) PercentOfRange() float64 { return t.path[t.taps.percent].Value }

// Applied is the value that goes into the trim, in the sensor's unit; without a
// trim it is [Transmitter.Value].
func (t *Transmitter) Applied() float64 {
	if t.taps.applied == 0 {
		return t.Value()
	}
	return t.path[t.taps.applied].Value
}

// Value is the trimmed value that goes into the range, in the sensor's unit.
func (t *Transmitter) Value() float64 { return t.path[t.taps.value].Value }

// LoopCurrentMA is the current that the transmitter believes to set.
func (t *Transmitter) LoopCurrentMA() float64 { return t.path[t.taps.current].Value }

// WireCurrentMA is the current that the loop carries: what a meter shows; 0 without power.
func (t *Transmitter) WireCurrentMA() float64 {
	if t.dark {
		return 0
	}
	return t.WantMA()
}

// Status is what a device reports about its numbers.
type Status struct {
	CurrentFixed     bool // the loop current is parked, or held for a test
	CurrentSaturated bool // it follows, and a saturation limit holds it back
	OutOfLimits      bool // the sensor meets what is beyond its limits
	Malfunction      bool // the sensor has no reading
}

// Status is the status at the moment reached.
func (t *Transmitter) Status() Status {
	s := &t.stages
	return Status{
		CurrentFixed:     s.current.Mode == Fixed,
		CurrentSaturated: s.current.saturated,
		OutOfLimits:      s.sensor.passed,
		Malfunction:      s.sensor.broken,
	}
}
