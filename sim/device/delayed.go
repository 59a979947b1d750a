package device

import (
	"bytes"

	"looptone/sim"
)

// kept is how long the result of a delayed response waits to be asked for; from
// memory that it is thrown away in the end.
const kept = 60 * sim.Second

// delayed is a write that takes longer than a reply may: the master is told so,
// and asks again until it is done. A device has room for one.
//
// Source: FieldComm Group support article 8000090586 (32, or 33 to 36 where the
// device has the scheme); one buffer, and what counts as the same request, from
// memory.
type delayed struct {
	running bool
	primary bool
	command uint16
	data    []byte
	done    sim.Tick
}

// is reports whether a request asks for the same once more.
func (w *delayed) is(r *request) bool {
	return w.running && w.primary == r.primary && w.command == r.command && bytes.Equal(w.data, r.data)
}

// delay is what a write is answered that has to wait; success when it is to be
// carried out now.
func (d *Device) delay(r *request) (code uint8) {
	w := &d.delayed
	switch {
	case r.command == flushDelayedResponses:
		return success
	case r.now < d.testing:
		return busy
	case w.running && r.now > w.done+kept:
		dead := w.is(r)
		w.running = false
		if dead {
			return d.ifDelays(delayDead)
		}
	case w.is(r) && r.now < w.done:
		return d.ifDelays(delayRunning)
	case w.is(r):
		w.running = false
		return success
	case w.running:
		return busy
	}
	if d.cfg.WriteTime <= sim.SlaveTimeOut {
		return success
	}
	*w = delayed{true, r.primary, r.command, append(w.data[:0], r.data...), r.now + d.cfg.WriteTime}
	return d.ifDelays(delayInitiated)
}

// ifDelays is a code of the delayed response scheme, or busy before revision 7.
func (d *Device) ifDelays(code uint8) uint8 {
	if d.cfg.Revision < 7 {
		return busy
	}
	return code
}

const flushDelayedResponses = 106

// flushDelayed forgets the delayed response, unless it is being worked on.
//
// Source: Flowserve LMENIM2340-00 p.70.
func (d *Device) flushDelayed(r *request, _ *Memory) (code uint8) {
	if d.delayed.running && r.now < d.delayed.done {
		return setToNearest // all but running delayed responses flushed
	}
	d.delayed.running = false
	return success
}
