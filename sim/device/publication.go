package device

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// A Publication is a burst message as a device leaves the factory.
//
// Of the messages of a device, the one with the shortest period fills every gap
// that the others leave, so that masters go on being given turns: a device with
// one message publishes it without a pause, whatever its period and its trigger
// are.
//
// Source: Flowserve LMENIM2340-00 p.34 (the shortest period); from memory that a
// trigger counts in it too.
type Publication struct {
	Command       uint16   // 1, 2, 3, 9, 33 or 48
	Every         sim.Tick // update period; 0: half a second
	MaximumPeriod sim.Tick // 0: a minute, or Every where that is longer
	Trigger       uint8    // burst trigger mode, 0 continuous
	Level         float32  // of the trigger, in the unit of the value that it looks at
}

// burstable are the commands that can be published.
//
// Source: Yokogawa ADMAG AXR IM 01E30D01-01EN p.9-6 (1, 2, 3, 9, 48); Yokogawa
// digitalYEWFLO IM 01F06A00-01EN p.9-4 (33).
var burstable = []uint16{1, 2, 3, 9, 33, 48}

// canPublish reports whether a device of a revision can publish a command.
func canPublish(command uint16, revision uint8) bool {
	def, ok := payload.Lookup(command)
	if !ok || !slices.Contains(burstable, command) {
		return false
	}
	_, err := def.Layout(frame.ACK, revision)
	return err == nil
}

// publishable are the commands that a device of a revision can publish, in words.
func publishable(revision uint8) string {
	var list []string
	for _, command := range burstable {
		if canPublish(command, revision) {
			list = append(list, strconv.Itoa(int(command)))
		}
	}
	return strings.Join(list, ", ")
}

// triggers are what makes a burst message go out at its period, by their code.
//
// Source: Biffi ICON3000 HART manual MDE 254 printed p.44 table 133 (codes); the
// names are our own.
var triggers = []string{"continuous", "window", "rising", "falling", "on change"}

// Triggers are the names of what makes a burst message go out at its period, by
// their code.
func Triggers() []string { return slices.Clone(triggers) }

// fewestMessages is how many burst messages a device has at least from revision 7
// on; before, it has one.
//
// Source: FieldComm Group support article 8000039326 (3, or 1 where a device comes
// from revision 5).
const fewestMessages = 3

// mostMessages is how many there can be: their number is a byte.
const mostMessages = 255

// messages is how many burst messages the device has.
func (c *Config) messages() int {
	if c.Revision < 7 {
		return 1
	}
	return max(fewestMessages, len(c.Bursts))
}

// factoryMessage is what message n is as long as nothing was written to it.
func (c *Config) factoryMessage(n int) BurstMessage {
	b := usualBurst
	if n >= len(c.Bursts) {
		return b
	}
	p := &c.Bursts[n]
	b.On, b.Command, b.Trigger, b.Level = true, p.Command, p.Trigger, p.Level
	b.Variables = usualVariables(variablesOf(&c.Transmitter))
	if p.Every > 0 {
		b.Period = periodCount(p.Every)
	}
	b.MaximumPeriod = max(b.Period, b.MaximumPeriod)
	if p.MaximumPeriod > 0 {
		b.MaximumPeriod = periodCount(p.MaximumPeriod)
	}
	if p.hasLevel() {
		b.Unit = c.triggerUnit(p.Command)
		b.Classification = classOf(b.Unit)
	}
	return b
}

// usualVariables are those that commands 9 and 33 publish: the first four.
func usualVariables(of []variable) (names []string) {
	for i := range min(len(of), 4) {
		names = append(names, of[i].name)
	}
	return names
}

// triggerUnit is the unit of the value that a trigger of a command looks at.
func (c *Config) triggerUnit(command uint16) unit.Code {
	switch {
	case command == 2:
		return unit.Percent
	case c.Transmitter.UserUnit != nil:
		return c.Transmitter.UserUnit.Unit
	}
	return c.Transmitter.Range.Unit
}

// hasLevel reports whether the trigger compares a value with its level.
func (p *Publication) hasLevel() bool {
	return p.Trigger >= windowTrigger && p.Trigger <= fallingTrigger
}

// checkBursts refuses what the device cannot publish.
func (c *Config) checkBursts() error {
	if n := len(c.Bursts); n > mostMessages || c.Revision < 7 && n > 1 {
		most := mostMessages
		if c.Revision < 7 {
			most = 1
		}
		return setting.Refuse("burst", fmt.Sprintf("%d of them", n), "at most %d, as revision %d has them", most, c.Revision)
	}
	for i := range c.Bursts {
		if err := c.Bursts[i].check(c.Revision, fmt.Sprintf("burst[%d]", i)); err != nil {
			return err
		}
	}
	return nil
}

// check refuses a wrong publication, which a description calls name.
func (p *Publication) check(revision uint8, name string) error {
	const periods = "0.5s, 1s, 2s, 4s, 8s, 16s, 32s, or 60s to 3600s"
	switch {
	case !canPublish(p.Command, revision):
		return setting.Refuse(name+".command", p.Command, "one of %s, which revision %d can publish", publishable(revision), revision)
	case !isUpdatePeriod(p.Every):
		return setting.Refuse(name+".every", p.Every.Duration(), periods)
	case !isUpdatePeriod(p.MaximumPeriod):
		return setting.Refuse(name+".maximum", p.MaximumPeriod.Duration(), periods)
	case p.MaximumPeriod != 0 && p.MaximumPeriod < p.Every:
		return setting.Refuse(name+".maximum", p.MaximumPeriod.Duration(), "no less than every, %v", p.Every.Duration())
	case p.Trigger > changeTrigger:
		return setting.Refuse(name+".trigger", p.Trigger, "0 to %d", changeTrigger)
	case p.Trigger != continuousTrigger && revision < 7:
		return setting.Refuse(name+".trigger", strconv.Quote(triggers[p.Trigger]), "%q: revision %d knows no trigger",
			triggers[continuousTrigger], revision)
	case p.hasLevel() && p.Command == readStatus:
		return setting.Refuse(name+".trigger", strconv.Quote(triggers[p.Trigger]), "%q or %q: command %d has no value to compare with a level",
			triggers[continuousTrigger], triggers[changeTrigger], readStatus)
	}
	return setting.Number(name+".level", float64(p.Level))
}

// isUpdatePeriod reports whether a device keeps a period as it is; 0 stands for
// the usual one.
func isUpdatePeriod(t sim.Tick) bool {
	n := periodCount(t)
	return t == 0 || t > 0 && t <= sim.Tick(3600)*sim.Second && periodTicks(n) == t && updatePeriod(n) == n
}

// periodCount is a time in 1/32 ms, as burst messages have it; periodTicks is the
// way back, rounded down.
func periodCount(t sim.Tick) uint32 { return uint32(t * 32 / sim.Millisecond) }
func periodTicks(n uint32) sim.Tick { return sim.Tick(n) * sim.Millisecond / 32 }
