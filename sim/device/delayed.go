package device

import (
	"bytes"
	"slices"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
)

// collectWithin is how long the result of a delayed response waits to be asked
// for; from memory that it is thrown away in the end.
const collectWithin = 60 * sim.Second

// delayed is a write that takes longer than a reply may: the master is told so,
// and asks again until it is told the result. A device has room for one.
//
// Source: FieldComm Group support article 8000090586 (32, or 33 to 36 where the
// device has the scheme); one buffer, and what counts as the same request, from
// memory.
type delayed struct {
	state   delayState
	request request
	done    sim.Tick // when it will have been carried out
	code    uint8    // the result
}

type delayState uint8

const (
	idle     delayState = iota
	running             // the write takes its time
	keeping             // it was carried out, and is not durable yet
	finished            // nobody has been told yet
)

// is reports whether a request asks for the same once more.
func (w *delayed) is(r *request) bool {
	return w.request.primary == r.primary && w.request.command == r.command && bytes.Equal(w.request.sent, r.sent)
}

// concerns reports whether a request, even if it would take no time by itself, has to
// do with what is going on: it asks for the same, or for something while a write is
// being worked on.
func (w *delayed) concerns(r *request) bool {
	return w.state == running || w.state == keeping || w.state == finished && w.is(r)
}

// delay is what a write is answered that takes its time.
func (d *Device) delay(r *request, def *payload.Definition) (code uint8) {
	w := &d.delayed
	same := w.is(r)
	switch {
	case w.state == idle:
		d.begin(r, def)
		return d.ifDelays(delayInitiated)
	case w.state == finished && r.now > w.done+collectWithin:
		w.state = idle
		if same {
			return d.ifDelays(delayDead)
		}
		return d.delay(r, def)
	case !same:
		return busy
	case w.state != finished:
		return d.ifDelays(delayRunning)
	}
	w.state = idle
	r.data = append(r.data[:0], w.request.data...)
	return w.code
}

// begin takes a copy of a request, to be carried out later.
func (d *Device) begin(r *request, def *payload.Definition) {
	data := slices.Clone(r.data)
	d.delayed = delayed{state: running, done: r.now + d.writeTime(), request: request{
		primary: r.primary, command: r.command, data: data, sent: slices.Clone(data),
		values: def.Decode(nil, frame.STX, data, d.cfg.Revision).Values,
	}}
}

// work carries out a delayed write when its time has come, or tells when that is.
func (d *Device) work(now sim.Tick) (wake sim.Tick) {
	w := &d.delayed
	switch {
	case w.state != running:
		return sim.Never
	case now < w.done:
		return w.done
	case d.unsaved.saving != nil: // of one before
		return now + patience
	}
	d.transmitter.To(now)
	w.request.now, w.state = now, keeping
	w.code = d.carryOut(&w.request, writes[w.request.command])
	if d.unsaved.saving == nil {
		w.state = finished
	}
	return sim.Never
}

// saved tells a write that was carried out how it went with keeping it.
func (w *delayed) saved(err error) {
	if w.state != keeping {
		return
	}
	w.state = finished
	if err != nil {
		w.code = deviceError
	}
}

// ifDelays is a code of the delayed response scheme, or busy before revision 7.
func (d *Device) ifDelays(code uint8) uint8 {
	if d.cfg.Revision < 7 {
		return busy
	}
	return code
}

// flushDelayed forgets the delayed response, unless it is being worked on.
//
// Source: Flowserve LMENIM2340-00 p.70.
func (d *Device) flushDelayed(*request, *Memory) (code uint8) {
	switch d.delayed.state {
	case running, keeping:
		return setToNearest // all but running delayed responses flushed
	}
	d.delayed.state = idle
	return success
}
