package device

import "looptone/sim"

// A Past is what was written to a device over the line, as it was at a moment.
type Past struct {
	memory Memory
	heldMA float64
}

// Past is what was written until now. It stays as it is.
func (d *Device) Past() Past { return Past{d.memory, d.heldMA} }

// Recall has what was forgotten from one moment to a later one count again, unless
// something else was written since; and the loop current be held again as it was. An
// error is a [*setting.Error], and nothing has changed.
func (d *Device) Recall(now sim.Tick, before, after Past) error {
	held := d.heldMA
	if before.heldMA != after.heldMA {
		d.heldMA = before.heldMA
	}
	err := d.keyIn(now, func(m *Memory) { m.recall(&before.memory, &after.memory) }, nil)
	if err != nil {
		d.heldMA = held
	}
	return err
}

// recall takes over from before what was forgotten until after.
func (m *Memory) recall(before, after *Memory) {
	again(&m.Polling, before.Polling, after.Polling)
	again(&m.LoopCurrent, before.LoopCurrent, after.LoopCurrent)
	again(&m.Tag, before.Tag, after.Tag)
	again(&m.LongTag, before.LongTag, after.LongTag)
	again(&m.Descriptor, before.Descriptor, after.Descriptor)
	again(&m.Message, before.Message, after.Message)
	again(&m.Date, before.Date, after.Date)
	again(&m.ReplyPreambles, before.ReplyPreambles, after.ReplyPreambles)
	again(&m.Range, before.Range, after.Range)
	again(&m.UserUnit, before.UserUnit, after.UserUnit)
	again(&m.DampingS, before.DampingS, after.DampingS)
	again(&m.Power, before.Power, after.Power)
	again(&m.Trim, before.Trim, after.Trim)
	again(&m.CurrentTrim, before.CurrentTrim, after.CurrentTrim)
	if m.Bursts == nil && after.Bursts == nil {
		m.Bursts = before.Bursts
	}
}

// again has what was written before count again, if it was forgotten until after and is
// still.
func again[T any](own **T, before, after *T) {
	if *own == nil && after == nil {
		*own = before
	}
}
