package device

import (
	"looptone/frame"
	"looptone/sim"
	"looptone/sim/transmitter"
)

// patience is how often a device looks whether what was written is durable.
const patience = sim.Millisecond

// unsaved is what was written and is not durable yet, with the reply that waits
// for it.
type unsaved struct {
	saving  Saving              // nil: there is nothing
	before  Memory              // what counts again when it cannot be kept
	totals  *transmitter.Totals // that were set back; nil: they were not
	reply   *sim.Burst          // nil: none waits
	request frame.Frame         // that it answers
	end     sim.Tick            // of the request
	due     sim.Tick            // the reply must not go before
}

// save begins to keep what the device remembers. Before is what it remembered,
// and totals what it had added up, if they were set back.
func (d *Device) save(before Memory, totals *transmitter.Totals) {
	d.unsaved = unsaved{saving: d.store(), before: before, totals: totals}
}

// store begins to keep what the device remembers now.
func (d *Device) store() Saving {
	m := d.remembered()
	if m.Totals != nil {
		d.kept = &m.Totals.Totals
	}
	return d.cfg.Store.Save(d.unique, m)
}

// hold has a reply wait for the saving that was begun.
func (d *Device) hold(end sim.Tick, request *frame.Frame, reply *sim.Burst) {
	w := &d.unsaved
	w.reply, w.request, w.end = reply, request.Clone(), end
	w.due = max(reply.At, end+d.cfg.StoreTime-sim.CarrierLead)
	d.sending = max(end+sim.SlaveTimeOut, w.due+reply.Off()-reply.At)
}

// release gives the reply that waits, if it may go now, or when to ask again. A
// reply that would come too late is dropped: nobody was told, and what was
// written counts only if it can be kept after all.
//
// Source: FieldComm Group support article 8000040648 (slave time-out).
func (d *Device) release(now sim.Tick) (reply *sim.Burst, wake sim.Tick) {
	w := &d.unsaved
	if w.saving == nil {
		return nil, sim.Never
	}
	if w.reply != nil && now < w.due {
		return nil, w.due
	}
	done, err := w.saving.Done()
	if !done && err == nil {
		if w.reply != nil && now+sim.CarrierLead >= w.end+sim.SlaveTimeOut {
			w.reply, d.sending = nil, now
			d.publishing.restore(w.end) // nobody has answered
		}
		return nil, now + patience
	}
	if reply = w.reply; err != nil {
		d.forget(now)
		if reply != nil {
			reply = d.reply(w.end, &w.request, deviceError, nil)
		}
	}
	d.saved(err)
	if reply != nil {
		reply.At = max(reply.At, now)
		d.busyWith(reply)
	}
	return reply, sim.Never
}

// saved ends a saving.
func (d *Device) saved(err error) {
	d.unsaved.saving, d.unsaved.reply = nil, nil
	d.forgetful = err != nil
	d.delayed.saved(err)
}

// forget takes back what could not be kept.
func (d *Device) forget(now sim.Tick) {
	w := &d.unsaved
	_ = d.adopt(now, &w.before) // as it was adopted before
	if w.totals != nil {
		since := d.transmitter.Totals()
		d.transmitter.SetTotals(now, transmitter.Totals{Net: w.totals.Net + since.Net, Forward: w.totals.Forward + since.Forward})
	}
}

// planSaving has the totals kept from the moment now on, if there are any to keep.
func (d *Device) planSaving(now sim.Tick) {
	d.nextSaving = sim.Never
	if d.cfg.Store != nil && d.cfg.SaveEvery > 0 && d.cfg.Transmitter.Totaliser != nil {
		d.nextSaving = now + d.cfg.SaveEvery
	}
}

// keepTotals has the totals kept from time to time, and tells when the next time
// is. While one saving goes on no other is begun.
func (d *Device) keepTotals(now sim.Tick) (wake sim.Tick) {
	if d.flushed != nil {
		if done, err := d.flushed.Done(); done || err != nil {
			d.flushed, d.forgetful = nil, err != nil
		}
	}
	if now < d.nextSaving {
		return d.nextSaving
	}
	d.nextSaving = now + d.cfg.SaveEvery - (now-d.nextSaving)%d.cfg.SaveEvery
	if d.flushed == nil {
		d.Flush(now)
	}
	return d.nextSaving
}

// Flush begins to keep what the device remembers at this moment, its totals
// included. The device must have a [Store].
func (d *Device) Flush(now sim.Tick) Saving {
	d.transmitter.To(now)
	d.flushed = d.store()
	return d.flushed
}
