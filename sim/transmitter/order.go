package transmitter

import (
	"fmt"
	"slices"
	"strings"

	"looptone/sim/setting"
)

// StageInfo describes one of the stages that a path may have.
type StageInfo struct {
	Name string // in a line file, and of its output
	Unit string // of its output, in words
	What string // it does, in a sentence
}

// StageList are the stages in their usual order.
func StageList() []StageInfo {
	list := make([]StageInfo, len(parts))
	for i := range parts {
		list[i] = parts[i].StageInfo
	}
	return list
}

// A part is a stage with its rules.
type part struct {
	StageInfo
	where where
	given func(c *Config) bool // it has settings; nil where it has no stage to be without
	only  bool                 // there is no such stage without settings
}

// where a stage may stand.
type where uint8

const (
	first where = iota
	beforeRange
	anywhere // between the first and the last
	dividing // the range itself
	behindRange
	last
)

// parts are all stages in their usual order.
var parts = []part{
	{where: first, StageInfo: StageInfo{"sensor", "the sensor's unit",
		"The sensor turns the difference between its high and its low side into a value, and follows it no further than a little beyond its limits."}},
	{where: beforeRange, given: func(c *Config) bool { return c.Characterisation != Temperature{} },
		StageInfo: StageInfo{"characterisation", "the sensor's unit",
			"The characterisation takes off what the sensor's own temperature has done to the value."}},
	{where: anywhere, given: func(c *Config) bool { return c.DampingS != 0 },
		StageInfo: StageInfo{"damping", "as what it damps",
			"The damping calms the value: one time constant after a step it has gone 63.2 % of the way."}},
	{where: beforeRange, given: func(c *Config) bool { return c.Trim != Trim{Gain: 1} },
		StageInfo: StageInfo{"trim", "the sensor's unit",
			"The trim corrects the value to what was applied when the transmitter was last adjusted."}},
	{where: dividing, StageInfo: StageInfo{"range", "percent",
		"The range says which value stands for 0 and which for 100 percent."}},
	{where: behindRange, given: func(c *Config) bool { return c.Transfer != Transfer{Power: 1} },
		StageInfo: StageInfo{"transfer", "percent",
			"The transfer function bends the percentage, for instance by the square root that turns differential pressure into flow, and cuts off what is too small to be true."}},
	{where: behindRange, only: true, given: func(c *Config) bool { return len(c.Table) > 0 },
		StageInfo: StageInfo{"table", "percent",
			"The table bends the percentage by straight lines between its points, for instance from the level to the volume of a tank."}},
	{where: behindRange, only: true, given: func(c *Config) bool { return c.UserUnit != nil },
		StageInfo: StageInfo{"user_unit", "a unit of the user's choice",
			"The user unit says what the primary variable is at 0 and at 100 percent."}},
	{where: behindRange, only: true, given: func(c *Config) bool { return c.Totaliser != nil },
		StageInfo: StageInfo{"totaliser", "a unit of volume or mass",
			"The totaliser adds up the flow: once so that what flows back is taken off, and once forward only."}},
	{where: behindRange, only: true, given: func(c *Config) bool { return c.Controller != nil },
		StageInfo: StageInfo{"controller", "percent",
			"The controller moves the manipulated variable until the percentage is at its set point."}},
	{where: last, StageInfo: StageInfo{"output", "mA",
		"The output makes 4 to 20 mA of 0 to 100 percent, holds the current at its saturation limits, and sets the failure current where there is no number."}},
}

// order is the names of the stages in the order that c gives, or in the usual
// one with those that there is a reason for.
func (c *Config) order() []string {
	if c.Stages != nil {
		return c.Stages
	}
	var names []string
	for _, p := range parts {
		if !p.only || p.given(c) {
			names = append(names, p.Name)
		}
	}
	return names
}

// checkStages refuses an order that makes no path, and one that does not go with
// the other settings.
func (c *Config) checkStages() error {
	if c.Stages == nil {
		return nil
	}
	for i, name := range c.Stages {
		p := slices.IndexFunc(parts, func(p part) bool { return p.Name == name })
		if p < 0 {
			return refuseStage(i, name, "one of %s", strings.Join(stageNames(), ", "))
		}
		if before := slices.Index(c.Stages[:i], name); before >= 0 {
			return refuseStage(i, name, "every stage once: it is stages[%d] already", before)
		}
		if err := c.checkPlace(i, &parts[p]); err != nil {
			return err
		}
	}
	for _, p := range parts {
		if !slices.Contains(c.Stages, p.Name) && (p.given == nil || p.given(c)) {
			return c.refuseLeftOut(&p)
		}
	}
	return nil
}

// checkPlace refuses stage i, which is known, where it stands.
func (c *Config) checkPlace(i int, p *part) error {
	behind := slices.Contains(c.Stages[:i], "range")
	switch {
	case i == 0 && p.where != first:
		return refuseStage(i, p.Name, `"sensor" as the first one`)
	case i > 0 && p.where == first:
		return refuseStage(i, p.Name, "it as the first one")
	case i == len(c.Stages)-1 && p.where != last:
		return refuseStage(i, p.Name, `"output" as the last one`)
	case i < len(c.Stages)-1 && p.where == last:
		return refuseStage(i, p.Name, "it as the last one")
	case behind && p.where == beforeRange:
		return refuseStage(i, p.Name, `it before "range": it works in the sensor's unit`)
	case !behind && p.where == behindRange:
		return refuseStage(i, p.Name, `it behind "range": it works on what the range gives`)
	case p.Name == "characterisation" && slices.Contains(c.Stages[:i], "trim"):
		return refuseStage(i, p.Name, `it before "trim": the trim corrects what it gives`)
	case p.Name == "user_unit" && slices.Contains(c.Stages[:i], "totaliser"):
		return refuseStage(i, p.Name, `it before "totaliser", which adds up what it gives`)
	case p.only && !p.given(c):
		return refuseStage(i, p.Name, "its settings beside it: there is none without")
	}
	return nil
}

func (c *Config) refuseLeftOut(p *part) error {
	if p.given == nil {
		return setting.Refuse("stages", fmt.Sprintf("a list without %q", p.Name), "one with it: no path is without")
	}
	return setting.Refuse("stages", fmt.Sprintf("a list without %q", p.Name), "one with it, as it has settings, or none of those")
}

func refuseStage(i int, name, want string, args ...any) error {
	return setting.Refuse(fmt.Sprintf("stages[%d]", i), fmt.Sprintf("%q", name), want, args...)
}

func stageNames() []string {
	names := make([]string, len(parts))
	for i := range parts {
		names[i] = parts[i].Name
	}
	return names
}
