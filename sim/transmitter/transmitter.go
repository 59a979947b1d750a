package transmitter

import (
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/process"
)

// A Transmitter is the way from a process to a loop current, at one moment of
// line time. It is for one goroutine.
type Transmitter struct {
	cfg      Config
	course   process.Course
	at, grid sim.Tick // the grid point reached, and from one to the next
	dt       float64  // grid in seconds

	path    path
	sensor  *sensor
	current *current
	value   int // index on path of the value in the sensor's unit
	percent int // of the percent of range
	scaled  int // of the user unit; 0 without
}

// New makes a transmitter that has settled on its process at line time 0. An
// error is a [*setting.Error].
func New(cfg Config) (*Transmitter, error) {
	cfg = cfg.withDefaults()
	if err := cfg.check(); err != nil {
		return nil, err
	}
	t := &Transmitter{cfg: cfg, grid: sim.Ticks(cfg.Grid), course: cfg.Process.Course()}
	t.dt = t.grid.Seconds()
	t.lay()
	t.step(0)
	return t, nil
}

// lay puts the stages in their usual order.
func (t *Transmitter) lay() {
	c := &t.cfg
	lower, upper := c.rangeInSensorUnit()
	t.sensor = &sensor{lower: c.Sensor.Lower, upper: c.Sensor.Upper}
	t.current = &current{Current: c.Current}

	process := t.path.add("process", c.Sensor.Unit, nil, 0)
	at := t.path.add("sensor", c.Sensor.Unit, t.sensor, process)
	t.value = t.path.add("damping", c.Sensor.Unit, &damping{seconds: c.DampingS}, at)
	at = t.path.add("range", unit.Percent, toPercent{lower, upper}, t.value)
	t.percent = t.path.add("transfer", unit.Percent, transfer{c.Transfer.Power, c.Transfer.CutOffPercent}, at)
	if u := c.UserUnit; u != nil {
		t.scaled = t.path.add("user_unit", u.Unit, fromPercent{u.Lower, u.Upper}, t.percent)
	}
	t.path.add("output", unit.Milliampere, t.current, t.percent)
}

// To moves the transmitter to the last grid point that is not later than now.
// An earlier now than before changes nothing.
func (t *Transmitter) To(now sim.Tick) {
	for now-t.at >= t.grid {
		t.at += t.grid
		t.step(t.dt)
	}
}

// At is the grid point that the transmitter has reached.
func (t *Transmitter) At() sim.Tick { return t.at }

func (t *Transmitter) step(dt float64) {
	t.path.step(dt, t.course.Step(t.at, dt, 1))
}

// SetProcess replaces the process, noise included, by a constant in the sensor's
// unit, from the first grid point later than now on. An error is a
// [*setting.Error].
func (t *Transmitter) SetProcess(now sim.Tick, value float64) error {
	p := process.Config{Model: process.Constant(value)}
	if err := p.Check(t.cfg.Grid); err != nil {
		return err
	}
	t.To(now)
	t.cfg.Process, t.course = p, p.Course()
	return nil
}

// Set changes settings at the moment now, the process excepted. Numbers follow at
// once; what has been damped, added up or integrated so far stays. When the
// settings would be refused, nothing has changed. An error is a [*setting.Error].
func (t *Transmitter) Set(now sim.Tick, change func(c *Config)) error {
	t.To(now)
	cfg := t.Config()
	change(&cfg)
	cfg = cfg.withDefaults()
	if err := cfg.check(); err != nil {
		return err
	}
	t.cfg = cfg
	t.current.Current = cfg.Current
	output := &t.path[len(t.path)-1] // which has no memory: one more step does no harm
	output.Value = t.current.Step(t.dt, t.path[output.from].Value)
	return nil
}

// Config is how the transmitter is set now, defaults put in.
func (t *Transmitter) Config() Config { return t.cfg.withDefaults() }

// Outputs lists the process and what stands behind every stage, in order of the
// path.
func (t *Transmitter) Outputs() []Output {
	list := make([]Output, len(t.path))
	for i := range t.path {
		list[i] = t.path[i].Output
	}
	return list
}

// PrimaryVariable is the value that the transmitter measures and its unit: in
// its user unit, or without one the damped value in the range's unit.
func (t *Transmitter) PrimaryVariable() (value float64, u unit.Code) {
	if t.scaled != 0 {
		return t.path[t.scaled].Value, t.path[t.scaled].Unit
	}
	// No error: New has converted the range between the two.
	value, _ = unit.Convert(t.path[t.value].Value, t.cfg.Sensor.Unit, t.cfg.Range.Unit)
	return value, t.cfg.Range.Unit
}

// PercentOfRange is what a modulated current follows. It leaves 0 to 100 where
// the measured value leaves the range, and lives on while the current is parked.
func (t *Transmitter) PercentOfRange() float64 { return t.path[t.percent].Value }

// LoopCurrentMA is the loop current.
func (t *Transmitter) LoopCurrentMA() float64 { return t.path[len(t.path)-1].Value }

// Status is what a device reports about its numbers.
type Status struct {
	CurrentFixed     bool // the loop current is parked
	CurrentSaturated bool // it follows, and a saturation limit holds it back
	OutOfLimits      bool // the process is beyond the sensor's limits
}

// Status is the status at the moment reached.
func (t *Transmitter) Status() Status {
	return Status{t.current.Mode == Fixed, t.current.saturated, t.sensor.passed}
}
