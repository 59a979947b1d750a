package replay

import (
	"looptone/frame"
	"looptone/sim"
)

// usualPreambles stand in front of a reply whose own are not known.
//
// Source: Texas Instruments application note SLAAEH0, section 1.5.3 (5 to 20).
const usualPreambles = 5

// soonest is the response time of a device that answers as fast as it is allowed: its
// carrier goes on when that of the request has gone off.
const soonest = sim.CarrierTail + sim.CarrierLead

// Devices are all devices of a recording in one station, which answers as they did.
//
// A request is one of the recording when address, command, data and expansion bytes are
// the same; preambles and the master who asks do not matter. It gets the answers that
// it had in the recording, one after the other: replies, and silence where nobody
// answered. Behind the last they begin again with the first. What the recording does
// not tell is left out of them; without any, and to a request that is not recorded,
// there is silence.
//
// A reply is the recorded one but for the bit of the master, which is that of who asks.
// A request that comes before a reply is over is not heard, as by a device that is
// about to answer. Nothing is published.
type Devices struct {
	Fast bool         // replies come as soon as they may; else when they came in the recording, where that is known
	Tell func(*Asked) // is told of every request; may be nil

	lessons map[string]*lesson
	sending sim.Tick // until then a reply is due, or on the line
	key     []byte
	asked   Asked
	burst   *sim.Burst
}

// A lesson is the recorded answers to one request.
type lesson struct {
	answers []*Transaction
	next    int
	round   int          // how often all were given
	untold  *Transaction // one that the recording tells nothing of
}

// Asked is a request that devices have heard. It is valid during the call of Tell.
type Asked struct {
	At          sim.Tick     // its end
	Request     *frame.Frame // as it was heard
	Transaction *Transaction // whose answer it gets; nil where no such request is recorded
	Round       int          // how often all answers to this request were given before
	First       bool         // the answer is the first of them
	Unheard     bool         // a reply was due or under way, so there is no answer
}

// NewDevices are the devices of a recording, which must stay as it is.
func NewDevices(r *Recording) *Devices {
	d := &Devices{lessons: map[string]*lesson{}, burst: &sim.Burst{}}
	for i := range r.Transactions {
		t := &r.Transactions[i]
		d.keyOf(&t.Request)
		l := d.lessons[string(d.key)]
		if l == nil {
			l = &lesson{}
			d.lessons[string(d.key)] = l
		}
		if t.Fate == Untold {
			l.untold = t
			continue
		}
		l.answers = append(l.answers, t)
	}
	return d
}

// keyOf writes to key what of a request must be the same.
func (d *Devices) keyOf(f *frame.Frame) {
	same := *f
	same.Primary, same.Burst = false, false
	d.key, _ = same.AppendBinary(d.key[:0]) // it was on the line, so it can be written down
}

// Looks reports that no device looks before it answers.
func (d *Devices) Looks() bool { return false }

// Step answers requests.
func (d *Devices) Step(now sim.Tick, heard []sim.Heard) (send *sim.Burst, wake sim.Tick) {
	for i := range heard {
		h := &heard[i]
		if h.Carrier != 0 || h.Event.Outcome != frame.Whole || h.Event.Frame.Kind != frame.STX {
			continue
		}
		if b := d.hear(now, h.End, &h.Event.Frame); b != nil {
			send = b
		}
	}
	return send, sim.Never
}

// hear is the answer to a request that ended at moment end; nil for silence.
func (d *Devices) hear(now, end sim.Tick, request *frame.Frame) *sim.Burst {
	d.asked = Asked{At: end, Request: request, Unheard: now < d.sending}
	if !d.asked.Unheard {
		d.find(request)
	}
	if d.Tell != nil {
		d.Tell(&d.asked)
	}
	t := d.asked.Transaction
	if t == nil || t.Fate != Answered {
		return nil
	}
	return d.reply(now, end, t, request.Primary)
}

// find looks up the next answer to a request.
func (d *Devices) find(request *frame.Frame) {
	d.keyOf(request)
	l := d.lessons[string(d.key)]
	switch {
	case l == nil:
		return
	case len(l.answers) == 0:
		d.asked.Transaction = l.untold
		return
	}
	d.asked.Transaction, d.asked.Round, d.asked.First = l.answers[l.next], l.round, l.next == 0
	if l.next++; l.next == len(l.answers) {
		l.next = 0
		l.round++
	}
}

// reply is the burst that carries a recorded reply.
func (d *Devices) reply(now, end sim.Tick, t *Transaction, primary bool) *sim.Burst {
	after, preambles := max(t.After, soonest), t.ReplyPreambles
	if d.Fast {
		after = soonest
	}
	if preambles < 2 {
		preambles = usualPreambles
	}
	f := t.Reply
	f.Primary = primary
	b := d.blank(now)
	chars, _ := f.AppendBinary(frame.AppendPreambles(b.Chars[:0], preambles)) // as above
	*b = sim.Burst{At: max(now, end+after-sim.CarrierLead), Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars}
	d.sending = b.Off()
	return b
}

// blank is a burst to be filled: the last one, if its carrier has gone off. Faults may
// have made it longer.
func (d *Devices) blank(now sim.Tick) *sim.Burst {
	if d.burst.Off() > now {
		d.burst = &sim.Burst{}
	}
	return d.burst
}
