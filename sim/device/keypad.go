package device

import (
	"reflect"

	"looptone/sim"
	"looptone/sim/transmitter"
)

// What is set here is set at the device itself, as somebody at its keypad does: the
// masters are told that the configuration has changed.
//
// Source: KROHNE UFC 500 HART command specification p.8, and Allen-Bradley
// 1797-6.5.3 appendix C-6 (configuration changed: by the local keypad too).

// Reconfigure makes the device one that was described by c, as at its keypad: what
// differs from the description before counts, whatever was written over the line.
// Of c, everything may differ but what makes the device: its identity, its stages,
// its grid and the like; those are refused. What the device remembers, where it
// keeps that, its seeds, and what is wrong with it stay as they are. A process that
// differs begins anew, and no valve opens it any more. Its seat is to be woken then
// ([sim.Seat.Wake]). An error is a
// [*setting.Error], and nothing has changed.
func (d *Device) Reconfigure(now sim.Tick, c Config) error {
	before := d.cfg
	c.stay(&before)
	if err := c.check(); err != nil {
		return err
	}
	if err := c.sameDevice(&before); err != nil {
		return err
	}
	if _, err := transmitter.New(c.Transmitter); err != nil {
		return err
	}
	changed := c.configures(&before)
	d.cfg = c
	err := d.keyIn(now, func(m *Memory) {
		m.drop(&before, &c)
		if changed {
			m.noteChange()
		}
	}, &before)
	if err != nil {
		d.cfg = before
		return err
	}
	if !reflect.DeepEqual(before.Transmitter.Process, c.Transmitter.Process) {
		_ = d.transmitter.Replace(now, c.Transmitter.Process) // New has taken it
	}
	if c.SaveEvery != before.SaveEvery {
		d.planSaving(now)
	}
	return nil
}

// keyIn has the device remember what change makes of its memory, and keep it. Before
// is the description that counted until now, if it counts no more.
func (d *Device) keyIn(now sim.Tick, change func(m *Memory), before *Config) error {
	if err := d.alter(now, change, before); err != nil {
		return err
	}
	if d.cfg.Store != nil {
		d.Flush(now)
	}
	return nil
}

// alter is keyIn without keeping it.
func (d *Device) alter(now sim.Tick, change func(m *Memory), before *Config) error {
	m, heldMA := d.memory, d.heldMA
	change(&m)
	if held := describedMA(&d.cfg.Transmitter.Current); before != nil && describedMA(&before.Transmitter.Current) != held {
		d.heldMA = held
	}
	if err := d.adoptAs(now, &m, before); err != nil {
		d.heldMA = heldMA
		return err
	}
	if d.isParked(&m) {
		d.heldMA = 0
	}
	if d.unsaved.saving != nil { // a write that may have to be taken back
		change(&d.unsaved.before)
	}
	return nil
}

// noteChange has both masters told that the configuration has changed.
func (m *Memory) noteChange() {
	m.Changes++
	m.ChangedSecondary, m.ChangedPrimary = true, true
}

// drop forgets what was written where descriptions before and c differ.
func (m *Memory) drop(before, c *Config) {
	was, is := &before.Transmitter, &c.Transmitter
	forget(&m.Polling, before.Polling != c.Polling)
	forget(&m.Borrowed, before.Polling != c.Polling)
	forget(&m.LoopCurrent, before.LoopCurrent != c.LoopCurrent)
	forget(&m.Tag, before.Tag != c.Tag)
	forget(&m.LongTag, before.LongTag != c.LongTag)
	forget(&m.Descriptor, before.Descriptor != c.Descriptor)
	forget(&m.Message, before.Message != c.Message)
	forget(&m.Date, before.Date != c.Date)
	forget(&m.ReplyPreambles, before.ReplyPreambles != c.ReplyPreambles)
	forget(&m.Range, was.Range != is.Range)
	forget(&m.UserUnit, !reflect.DeepEqual(was.UserUnit, is.UserUnit))
	forget(&m.DampingS, was.DampingS != is.DampingS)
	forget(&m.Power, was.Transfer.Power != is.Transfer.Power)
	forget(&m.Trim, was.Trim != is.Trim)
	forget(&m.CurrentTrim, was.Current.Trim != is.Current.Trim)
	if !reflect.DeepEqual(before.Bursts, c.Bursts) {
		m.Bursts = nil
	}
}

// forget takes back what was written, if the description differs.
func forget[T any](own **T, differs bool) {
	if differs {
		*own = nil
	}
}
