package device

import (
	"looptone/frame"
	"looptone/sim"
)

// patience is how often a device looks whether what was written is durable.
const patience = sim.Millisecond

// unsaved is a reply that waits until what it acknowledges is durable.
type unsaved struct {
	saving  Saving
	before  Memory      // what counts again when it cannot be kept
	reply   *sim.Burst  // nil: none waits
	request frame.Frame // that it answers
	end     sim.Tick    // of the request
	due     sim.Tick    // the reply must not go before
}

// save begins to keep what the device remembers; before is what it did.
func (d *Device) save(before Memory) {
	d.unsaved.saving, d.unsaved.before = d.cfg.Store.Save(d.unique, d.remembered()), before
}

// hold has a reply wait for the saving that was begun.
func (d *Device) hold(end sim.Tick, request *frame.Frame, reply *sim.Burst) {
	w := &d.unsaved
	w.reply, w.request, w.end = reply, request.Clone(), end
	w.due = max(reply.At, end+d.cfg.StoreTime-sim.CarrierLead)
	d.sending = end + sim.SlaveTimeOut
}

// release gives the reply that waits, if it may go now, or when to ask again. A
// reply that would come too late is dropped: what was written counts, but nobody
// was told so.
//
// Source: FieldComm Group support article 8000040648 (slave time-out).
func (d *Device) release(now sim.Tick) (reply *sim.Burst, wake sim.Tick) {
	w := &d.unsaved
	if w.reply == nil {
		return nil, sim.Never
	}
	if now < w.due {
		return nil, w.due
	}
	reply = w.reply
	switch done, err := w.saving.Done(); {
	case err != nil:
		d.forget(now)
		reply = d.reply(w.end, &w.request, deviceError, nil)
	case !done && now+sim.CarrierLead < w.end+sim.SlaveTimeOut:
		return nil, now + patience
	case !done:
		reply = nil
	}
	w.reply, d.sending = nil, now
	if reply != nil {
		reply.At = max(reply.At, now)
		d.sending = reply.Off()
	}
	return reply, sim.Never
}

// forget takes back what could not be kept.
func (d *Device) forget(now sim.Tick) {
	before := d.unsaved.before
	_ = d.adopt(now, &before) // as it was adopted before
	if before.Totals != nil {
		d.transmitter.SetTotals(now, *before.Totals)
	}
	d.forgetful = true
}

// keepTotals has the totals kept from time to time, and tells when the next time
// is.
func (d *Device) keepTotals(now sim.Tick) (wake sim.Tick) {
	if d.cfg.Store == nil || d.cfg.SaveEvery == 0 || d.cfg.Transmitter.Totaliser == nil {
		return sim.Never
	}
	if now >= d.nextSaving {
		d.Flush(now)
		d.nextSaving += d.cfg.SaveEvery
	}
	return d.nextSaving
}

// Flush begins to keep what the device remembers at this moment, its totals
// included. The device must have a [Store].
func (d *Device) Flush(now sim.Tick) Saving {
	if d.totals != nil {
		if _, err := d.totals.Done(); err != nil {
			d.forgetful = true
		}
	}
	d.transmitter.To(now)
	d.totals = d.cfg.Store.Save(d.unique, d.remembered())
	return d.totals
}
