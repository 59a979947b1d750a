package transmitter

import (
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/setting"
)

// A Transmitter is the way from a process to a loop current, at one moment of
// line time. It is for one goroutine, together with those that it moves with
// (see [Transmitter.Follow]).
type Transmitter struct {
	cfg      Config
	course   process.Course
	toSensor linear   // from the process's unit to the sensor's
	at, grid sim.Tick // the grid point reached, and from one to the next
	dt       float64  // grid in seconds
	others   *convoy  // it moves with, and itself; nil where it moves alone
	valve    *Transmitter
	opening  float64 // of the valve, from the grid point reached to the next
	high     float64 // what acts on the sensor's high side, in its unit
	dark     bool    // it has no power

	stages stages
	path   path
	taps   taps
}

// stages are all that a path may have. What they remember stays when the path is
// laid anew.
type stages struct {
	sensor           sensor
	characterisation characterisation
	damping          damping
	trim             linear
	span             toPercent
	transfer         transfer
	table            table
	userUnit         fromPercent
	totaliser        totaliser
	controller       pid
	current          current
	converter        converter
}

// taps are where on the path something is read: indices.
type taps struct {
	applied   int // what goes into the trim
	value     int // what goes into the range
	percent   int // the process variable in percent
	scaled    int // the user unit; 0 without
	regulated int // the controller; 0 without
	current   int // what the transmitter believes to set
}

// New makes a transmitter that has settled on its process at line time 0. An
// error is a [*setting.Error].
func New(cfg Config) (*Transmitter, error) {
	cfg = cfg.withDefaults()
	if err := cfg.check(); err != nil {
		return nil, err
	}
	t := &Transmitter{grid: sim.Ticks(cfg.Grid), opening: 1}
	t.dt = t.grid.Seconds()
	if cfg.Totaliser != nil {
		t.stages.totaliser.setTotals(cfg.Totaliser.Begin)
	}
	t.configure(cfg)
	t.begin()
	return t, nil
}

// begin begins the process at line time 0 and settles on it. Nothing that a stage
// remembers is from before but totals.
func (t *Transmitter) begin() {
	t.course = t.cfg.Process.Course()
	t.stages.damping.begin()
	t.stages.controller.begin()
	t.step(0)
}

// configure has the stages go by settings that have been checked.
func (t *Transmitter) configure(cfg Config) {
	t.cfg = cfg
	c, s := &t.cfg, &t.stages
	lower, upper := c.rangeInSensorUnit()
	s.sensor.set(&c.Sensor)
	s.characterisation.set(c.Characterisation.at(c.Sensor.AtC))
	s.damping.set(c.DampingS, t.dt)
	s.trim = linear(c.Trim)
	s.span = toPercent{lower, upper}
	s.transfer = transfer{c.Transfer.Power, c.Transfer.CutOffPercent}
	s.table.set(c.Table)
	if u := c.UserUnit; u != nil {
		s.userUnit = fromPercent{u.Lower, u.Upper}
	}
	if c.Controller != nil {
		s.controller.set(*c.Controller, t.dt)
	}
	s.current.Current = c.Current
	s.converter.set(&c.Current)
	t.toSensor = c.toSensor()
	t.lay()
}

// toSensor is the way from the process's unit to the sensor's; it has been checked
// that there is one.
func (c *Config) toSensor() linear {
	own := c.Process.Model.Unit()
	if own == 0 {
		return linear{Gain: 1}
	}
	to, _ := conversion(own, c.Sensor.Unit)
	return to
}

// lay puts the stages in their order. The path has a trunk, on which each takes
// the output of the one before it, and branches; what stands behind a branch
// takes what the branch took.
func (t *Transmitter) lay() {
	c, s := &t.cfg, &t.stages
	p := t.path[:0]
	t.taps = taps{}
	trunk := p.add("process", c.Sensor.Unit, nil, 0)
	own := c.Sensor.Unit // of the trunk
	next := func(name string, stage Stage) { trunk = p.add(name, own, stage, trunk) }
	for _, name := range c.order() {
		switch name {
		case "sensor":
			next(name, &s.sensor)
		case "characterisation":
			next(name, &s.characterisation)
		case "damping":
			next(name, &s.damping)
		case "trim":
			t.taps.applied = trunk
			next(name, &s.trim)
		case "range":
			t.taps.value, own = trunk, unit.Percent
			next(name, &s.span)
		case "transfer":
			next(name, &s.transfer)
		case "table":
			next(name, &s.table)
		case "user_unit":
			t.taps.scaled = p.add(name, c.UserUnit.Unit, &s.userUnit, trunk)
		case "totaliser":
			t.layTotaliser(&p)
		case "controller":
			t.taps.regulated = p.add(name, unit.Percent, &s.controller, trunk)
		}
	}
	t.taps.percent = trunk
	if c.Source == ManipulatedVariable {
		trunk = t.taps.regulated
	}
	t.taps.current = p.add("output", unit.Milliampere, &s.current, trunk)
	p.add("loop_current", unit.Milliampere, &s.converter, t.taps.current)
	t.path = p
}

// layTotaliser puts the totaliser behind the primary variable.
func (t *Transmitter) layTotaliser(p *path) {
	from, u := t.taps.value, t.cfg.Totaliser.Unit
	if t.taps.scaled != 0 {
		from = t.taps.scaled
	}
	s := &t.stages.totaliser
	s.set((*p)[from].Unit, u, t.dt)
	net := p.add("totaliser", u, s, from)
	p.add("totaliser_forward", u, (*forwardTotal)(s), net)
}

// To moves the transmitter, and those that it moves with, to the last grid point
// that is not later than now. An earlier now than before changes nothing.
func (t *Transmitter) To(now sim.Tick) {
	if t.others != nil {
		t.others.to(now)
		return
	}
	for now-t.at >= t.grid {
		t.at += t.grid
		t.step(t.dt)
	}
}

// At is the grid point that the transmitter has reached.
func (t *Transmitter) At() sim.Tick { return t.at }

func (t *Transmitter) step(dt float64) {
	t.high = t.toSensor.Step(dt, t.course.Step(t.at, dt, t.opening))
	if t.dark {
		t.stages.losePower()
		dt = 0 // nothing is added up or integrated
	}
	t.path.step(dt, t.high)
}

// settle works out the grid point reached once more, with other settings.
func (t *Transmitter) settle() { t.path.step(0, t.high) }

// Set changes settings at the moment now. Numbers follow at once; what has been
// damped, added up or integrated so far stays. A change of Grid, Process, Stages,
// the sensor's unit or the totals at the beginning has no effect, nor has one of
// the controller's manual value while it stays in Auto. A totaliser or a
// controller comes only with the transmitter. When the settings would be refused,
// nothing has changed. An error is a [*setting.Error].
func (t *Transmitter) Set(now sim.Tick, change func(c *Config)) error {
	t.To(now)
	old := t.Config()
	cfg := old.clone()
	change(&cfg)
	cfg = cfg.withDefaults()
	if err := cfg.keep(&old); err != nil {
		return err
	}
	if err := cfg.check(); err != nil {
		return err
	}
	t.configure(cfg)
	t.settle()
	return nil
}

// Replace has the transmitter measure another process, from the grid point behind
// the moment now on; no valve opens it until it follows one again. What has been
// damped, added up or integrated so far stays, and goes on from there. When the process would be refused, nothing
// has changed. An error is a [*setting.Error].
func (t *Transmitter) Replace(now sim.Tick, p process.Config) error {
	t.To(now)
	cfg := t.cfg
	cfg.Process = p
	if err := cfg.checkProcess(); err != nil {
		return err
	}
	t.cfg.Process, t.toSensor = p, cfg.toSensor()
	t.valve, t.opening = nil, 1
	t.course = p.Course()
	t.course.Step(t.at, 0, t.opening)
	return nil
}

// keep takes back what does not change, and refuses what cannot come or go.
func (c *Config) keep(old *Config) error {
	c.Grid, c.Process, c.Stages, c.Sensor.Unit = old.Grid, old.Process, old.Stages, old.Sensor.Unit
	if (c.Totaliser == nil) != (old.Totaliser == nil) {
		return setting.Refuse("totaliser", "another than there was", "the transmitter made anew")
	}
	if (c.Controller == nil) != (old.Controller == nil) {
		return setting.Refuse("controller", "another than there was", "the transmitter made anew")
	}
	if c.Totaliser != nil {
		c.Totaliser.Begin = old.Totaliser.Begin
	}
	if c.Controller != nil && old.Controller.Mode == Auto {
		c.Controller.take(old.Controller.Manual)
	}
	return nil
}
