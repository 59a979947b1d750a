package page

import (
	"encoding/hex"
	"slices"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
)

// A witness is a station that says nothing and tells what is said, and when nobody has
// answered.
type witness struct {
	scene   *Scene
	tracker exchange.Tracker
	carrier bool // one is on
	n       int64
	seat    *sim.Seat
	unheard sim.Tick // by then what goes on now was heard, or nobody can make it out; 0 for nothing

	numbers [64]numbered      // what the tracker's numbers are told as, of the latest
	recent  [recentLen]spoken // carriers
	waiting [2]waiting        // of the secondary, the primary master
	askers  [2]int            // stations that asked last with the bits of these
}

// numbered is a message that the tracker knows by a number of its own.
type numbered struct {
	number int
	n      int64
}

// waiting is a request that may still be answered.
type waiting struct {
	until sim.Tick // by then the reply must have begun; 0 for no request
	n     int64
	to    int
	event frame.Event
	exchange.Message
	damage int // number of what was heard in the place of a reply
}

func newWitness(s *Scene) *witness {
	w := &witness{scene: s, askers: [2]int{-1, -1}}
	for i := range s.assembly.Devices {
		w.tracker.Introduce(*s.known(i))
	}
	return w
}

// known is device i as the line knows it, under the name that its lane has.
func (s *Scene) known(i int) *exchange.Device {
	d := s.assembly.Devices[i]
	c := d.Config()
	return &exchange.Device{Unique: c.Unique(), Polling: int(d.Polling()), Revision: c.Revision,
		Manufacturer: c.Maker, DeviceType: c.Type, DeviceRevision: c.DeviceRevision, Tag: c.Tag}
}

// Step tells of what was heard. It wakes when a reply can not come any more.
func (w *witness) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for i := range heard {
		if h := &heard[i]; h.Carrier == 0 {
			w.hear(h)
		} else {
			w.carrier = h.Carrier > 0
		}
	}
	wake := w.giveUp(now)
	for i := range w.waiting {
		switch x := &w.waiting[i]; {
		case x.until == 0 || w.carrier: // what comes may be the reply
		case x.until < now:
			w.tellSilence(x)
		default:
			wake = min(wake, x.until+1)
		}
	}
	return nil, wake
}

// expect takes note of a carrier behind which a step ends, also where it is not heard.
func (w *witness) expect(off sim.Tick) {
	w.unheard = max(w.unheard, off+sim.Hold)
	w.seat.Wake()
}

// giveUp ends a step behind a carrier that was not heard, and tells when it will.
func (w *witness) giveUp(now sim.Tick) (wake sim.Tick) {
	switch {
	case w.unheard == 0:
		return sim.Never
	case now < w.unheard:
		return w.unheard
	}
	w.unheard = 0
	w.scene.clock.stepped()
	return sim.Never
}

func (w *witness) hear(h *sim.Heard) {
	w.tracker.Follow(0, &h.Event, exchange.Span{
		Known: true, Begin: h.Begin.Duration(), Start: h.Start.Duration(), End: h.End.Duration()})
	var m exchange.Message
	for w.tracker.Next(&m) {
		if m.Unanswered == 0 {
			w.tell(h, &m)
		} else if x := w.waitingFor(m.Unanswered); x != nil {
			w.tellSilence(x)
		}
	}
}

// waitingFor is the request with a number of the tracker's, if its time-out was not told.
func (w *witness) waitingFor(number int) *waiting {
	for i := range w.waiting {
		if x := &w.waiting[i]; x.until != 0 && x.Number == number {
			return x
		}
	}
	return nil
}

// tell tells of a message.
func (w *witness) tell(h *sim.Heard, m *exchange.Message) {
	if m.IsStray() {
		return
	}
	w.unheard = 0
	w.name(m)
	w.n++
	w.numbers[w.n%int64(len(w.numbers))] = numbered{m.Number, w.n}
	e := Message{
		N: w.n, From: w.talker(h), To: -1, Start: h.Begin.Seconds(), End: h.End.Seconds(),
		Kind: kindOf(m), Sentence: view.Sentence(m), Hex: hex.EncodeToString(m.Raw), FF: m.Preambles,
		ReplyTo: w.told(m.ReplyTo), Command: -1,
	}
	if m.Response.Known {
		e.After = m.Response.Time.Seconds()
	}
	if m.Outcome == frame.Whole {
		e.Command = int(m.Frame.Number())
		e.To = w.addressee(&e, m)
	}
	boxes := boxesOf(m)
	w.scene.apart.keep(e.N, boxes)
	w.follow(h, &e, m)
	if !w.scene.asking.hear(h, &e, m) {
		w.scene.tell("message", e)
	}
	w.scene.clock.stepped()
}

// name names the device of a message as the line does; at a polling address that
// several have it is none of them.
func (w *witness) name(m *exchange.Message) {
	if m.Outcome != frame.Whole && m.Device == nil {
		return
	}
	if meant := w.scene.meant(m.Frame.Address); len(meant) == 1 {
		m.Device = w.scene.known(meant[0])
	} else if _, short := m.Frame.Address.IsPolling(); short {
		m.Device = nil
	}
}

// follow takes note of who waits for a reply.
func (w *witness) follow(h *sim.Heard, e *Message, m *exchange.Message) {
	f := &m.Frame
	switch {
	case e.Kind == "request":
		w.askers[masterIndex(f.Primary)] = e.From
		x := &w.waiting[masterIndex(f.Primary)]
		*x = waiting{until: h.End + sim.SlaveTimeOut, n: e.N, to: e.To}
		x.event.Frame = *f
		x.event.Frame.Data = slices.Clone(f.Data)
		x.Event, x.Number, x.Device, x.Definition = &x.event, m.Number, m.Device, m.Definition
	case e.Kind == "reply" && m.ReplyTo > 0:
		if x := w.waitingFor(m.ReplyTo); x != nil {
			x.until = 0
		}
	case e.Kind == "damage":
		for i := range w.waiting {
			w.waiting[i].damage = m.Number
		}
	}
}

// tellSilence tells that nobody has answered a request.
func (w *witness) tellSilence(x *waiting) {
	ended := x.until - sim.SlaveTimeOut
	x.Unanswered, x.Damage = x.Number, x.damage
	x.Waited = exchange.Elapsed{Known: true, Time: sim.Tick(sim.SlaveTimeOut).Duration()}
	w.n++
	at := x.until.Seconds()
	e := Message{
		N: w.n, From: x.to, To: w.askers[masterIndex(x.Frame.Primary)], Start: at, End: at, Kind: "unanswered",
		Sentence: view.Sentence(&x.Message), ReplyTo: x.n, After: (x.until - ended).Seconds(), Command: int(x.Frame.Number()),
	}
	x.until = 0
	w.scene.asking.hearNobody()
	w.scene.tell("message", e)
	w.scene.clock.stepped()
}

// told is the number that a message was told by, 0 for none.
func (w *witness) told(number int) int64 {
	for _, x := range w.numbers {
		if x.number == number && number > 0 {
			return x.n
		}
	}
	return 0
}

func kindOf(m *exchange.Message) string {
	switch {
	case m.Outcome == frame.Damaged:
		return "damage"
	case m.Outcome == frame.Noise:
		return "noise"
	case m.Frame.Kind == frame.STX:
		return "request"
	case m.Frame.Kind == frame.BACK:
		return "burst"
	}
	return "reply"
}

func masterIndex(primary bool) int {
	if primary {
		return 1
	}
	return 0
}

// talker is the station that has said what was heard; -1 where nobody has, or two have
// at once.
func (w *witness) talker(h *sim.Heard) int {
	const some = sim.Character
	from := -1
	for i := range w.recent {
		x := &w.recent[i]
		shared := min(x.end, h.End) - max(x.start, h.Begin)
		switch {
		case shared < some:
		case from >= 0 && from != x.station:
			return -1
		default:
			from = x.station
		}
	}
	return from
}

// addressee is the station that a message is for; -1 for all, or nobody known.
func (w *witness) addressee(e *Message, m *exchange.Message) int {
	switch e.Kind {
	case "reply":
		return w.askers[masterIndex(m.Frame.Primary)]
	case "request":
		if meant := w.scene.meant(m.Frame.Address); len(meant) == 1 {
			return w.scene.stations.device(meant[0])
		}
	}
	return -1
}

// meant are the devices that an address is that of.
func (s *Scene) meant(a frame.Address) (devices []int) {
	for i, d := range s.assembly.Devices {
		polling, short := a.IsPolling()
		if short && d.Polling() == polling || a == d.Config().Unique() {
			devices = append(devices, i)
		}
	}
	return devices
}

// boxesOf takes a message apart; what could not be read is one box.
func boxesOf(m *exchange.Message) []Box {
	if m.Outcome != frame.Whole {
		return []Box{{Hex: hex.EncodeToString(m.Raw), Caption: kindOf(m), Sentence: view.Sentence(m)}}
	}
	var boxes []Box
	for _, x := range view.TakeApart(m) {
		boxes = append(boxes, boxOf(&x))
	}
	return boxes
}

func boxOf(x *view.Box) Box {
	return Box{Hex: hex.EncodeToString(x.Bytes), Caption: x.Caption, Sentence: x.Sentence}
}
