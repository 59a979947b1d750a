package device

import (
	"bytes"
	"math"

	"looptone/frame/unit"
	"looptone/sim"
)

// Burst trigger modes.
//
// Source: Biffi ICON3000 HART manual MDE 254 printed p.44 table 133.
const (
	continuousTrigger = 0
	windowTrigger     = 1 // the value has moved from what was published last by more than the level
	risingTrigger     = 2 // it is above the level
	fallingTrigger    = 3 // it is below the level
	changeTrigger     = 4 // it is not what was published last
)

// hasLevel reports whether the trigger compares a value with its level.
func (b *BurstMessage) hasLevel() bool {
	return b.Trigger >= windowTrigger && b.Trigger <= fallingTrigger
}

// published is what a message was when it went out last.
type published struct {
	once   bool     // it has
	at     sim.Tick // when, to the first of the two masters
	source reading
	status []byte // of command 48
}

// source is the value that a trigger looks at; ok is false where the command has
// none. In command 33 it is the first variable, as in command 9.
//
// Source: Biffi ICON3000 HART manual MDE 254 p.40 (1, 2, 3, 9); Yokogawa
// digitalYEWFLO IM 01F06A00-01EN p.9-4 (33); Yokogawa ADMAG AXR IM
// 01E30D01-01EN p.9-6 (48 knows continuous and on change only).
func (d *Device) source(b *BurstMessage) (r reading, ok bool) {
	switch b.Command {
	case 1, 3:
		return d.read(primaryVariable), true
	case 2:
		return d.read(percentOfRange), true
	case 9, 33:
		var codes [1]uint8
		d.codesOf(codes[:], b.Variables)
		return d.read(codes[0]), true
	}
	return reading{}, false
}

// conflicts reports whether the trigger compares what cannot be compared: the
// message counts as triggered then.
func (d *Device) conflicts(b *BurstMessage) bool {
	if !b.hasLevel() {
		return false
	}
	source, ok := d.source(b)
	if !ok || b.Unit == unit.NotUsed {
		return !ok
	}
	_, err := unit.Convert(0, source.unit, b.Unit)
	return err != nil
}

// isTriggered reports whether a message is to go out at its update period; else it
// waits for the maximum one. What is no number triggers it: a sensor that fails is
// news. From memory, the sources of the modes apart.
func (d *Device) isTriggered(b *BurstMessage, last *published) bool {
	if b.Trigger == continuousTrigger || !last.once || d.conflicts(b) {
		return true
	}
	source, ok := d.source(b)
	if !ok {
		status, err := d.additionalStatus()
		return err != nil || !bytes.Equal(status, last.status)
	}
	before := last.source
	if b.Unit != unit.NotUsed {
		source, before = source.in(b.Unit), before.in(b.Unit)
	}
	switch level := float64(b.Level); b.Trigger {
	case windowTrigger:
		return !(math.Abs(source.value-before.value) <= level)
	case risingTrigger:
		return !(source.value <= level)
	case fallingTrigger:
		return !(source.value >= level)
	}
	return float32(source.value) != float32(before.value) || source.unit != before.unit
}

// periodNow is how long message b, last published so, may be missing.
//
// Source: Micro Motion 4200 configuration manual MMI-20048166 p.113 (the maximum
// period while the condition is false, the update period while it is true).
func (d *Device) periodNow(b *BurstMessage, last *published) sim.Tick {
	if d.isTriggered(b, last) {
		return periodTicks(b.Period)
	}
	return periodTicks(b.MaximumPeriod)
}

// notePublished remembers what message b is at the moment now.
func (d *Device) notePublished(b *BurstMessage, now sim.Tick, last *published) {
	last.once, last.at = true, now
	last.source, _ = d.source(b)
	if b.Command == readStatus {
		last.status, _ = d.additionalStatus()
	}
}
