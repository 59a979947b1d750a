package master

import "looptone/sim"

// A Query is one line of a schedule.
type Query struct {
	Device  Target
	Command uint16
	Data    []byte
	Every   sim.Tick // from one asking to the next; 0: as often as there are turns
}

// A Poll asks devices again and again. Its Run is a script. Its queries stay as they
// are once it has begun.
//
// Every device is asked first who it is, with 20 preambles: by its tag with command
// 11 or 21, by an address with command 0. Then it is asked with as many as it wants,
// by its unique address. One that does not answer is looked for again whenever the
// turn of one of its queries comes, which are not asked meanwhile. One that stays
// silent in a whole round of retries is looked for too: it may have been replaced.
//
// Queries with a period are due at multiples of it from the first time on, and go
// before the others, which take turns in what is left. A due time that has passed
// while others were asked is not made up for.
type Poll struct {
	Queries []Query
	Retries int            // how often to ask again in one round where there was no answer; a device that was looked for in vain is asked once
	Rounds  int            // how often each query is asked; 0 for no end
	Tell    func(*Reading) // is told of every request that has ended; may be nil

	schedule *schedule
	devices  []*polled
	all      counter
	turn     turn
}

// turn is what a query is asked in when it is its turn: who the device is, if that is
// not known, and the query itself, with retries.
type turn struct {
	*entry
	sent  Transaction // the last one
	try   int         // its, from 1
	tally *counter    // that it counts for; nil when it has been counted
	began sim.Tick    // carrier on of the first try of the query, or of the search
	told  Reading     // that Tell is shown
}

// A Reading is a request that has ended. It is valid during the call of Tell.
type Reading struct {
	Query        *Query // whose turn it was; the device may have been asked who it is in its place
	Name         string // of the device: its tag, else its address, as its target has it
	*Transaction        // what was asked, and what came of it
	Try          int    // from 1
}

// Run is the script. When it has ended before its end, it may be run again by another
// master, on a line whose time may begin anew: everything is due then, and the
// counts go on, without the request that was under way.
func (p *Poll) Run(yield func(*Transaction) bool) {
	p.prepare()
	p.turn.tally = nil
	p.schedule.restart()
	for e := p.schedule.next(); e != nil; e = p.schedule.next() {
		p.turn.entry = e
		if !p.look(yield) || e.device.known && !p.ask(yield) {
			return
		}
		p.schedule.asked(e, p.turn.began)
	}
}

func (p *Poll) prepare() {
	if p.schedule == nil {
		p.schedule, p.devices = newSchedule(p.Queries, p.Rounds)
		p.all.tally.Command = wholeDevice
	}
}

// look asks the device who it is, if that is not known.
func (p *Poll) look(say conversation) (more bool) {
	d := p.turn.device
	if d.known {
		return true
	}
	v, more := p.repeat(&d.who, say)
	if v == answered {
		d.take(&p.turn.sent)
	}
	return more
}

// ask sends the query of this turn.
func (p *Poll) ask(say conversation) (more bool) {
	e := p.turn.entry
	_, more = p.repeat(&Transaction{Address: e.device.address, Command: e.Command, Data: e.Data, Preambles: e.device.wants}, say)
	return more
}

// repeat sends a request until it is answered, or was repeated often enough. The
// device is lost if there was nothing but silence.
func (p *Poll) repeat(request *Transaction, say conversation) (last verdict, more bool) {
	d := p.turn.device
	lost := true
	for try := 1; ; try++ {
		last, more = p.send(request, try, say)
		if !more || last == answered || last == busy {
			return last, more
		}
		lost = lost && last == silent
		if try > p.Retries || d.missing && last == silent {
			break
		}
	}
	if lost {
		d.lose()
	}
	return last, true
}

// send sends a request once and counts what came of it.
func (p *Poll) send(request *Transaction, try int, say conversation) (v verdict, more bool) {
	t := &p.turn
	room := t.sent.Reply.Data[:0]
	t.sent = *request
	t.sent.Earliest, t.sent.Reply.Data = t.due, room
	t.try, t.tally = try, t.device.tallyOf(request.Command)
	if !say(&t.sent) {
		return 0, false
	}
	if try == 1 {
		t.began = t.sent.Began
	}
	v = t.sent.verdict()
	for _, c := range [...]*counter{t.tally, &t.device.tally, &p.all} {
		c.add(&t.sent, v, try > 1)
	}
	t.tally = nil
	p.schedule.now = t.sent.Ended
	if p.Tell != nil {
		t.told = Reading{Query: t.Query, Name: t.device.name, Transaction: &t.sent, Try: try}
		p.Tell(&t.told)
	}
	return v, true
}

// Tallies are the counts so far: by device and command in the order of the
// schedule, in front of them what the device is asked who it is with, behind the
// commands of a device the device, and at the end all.
func (p *Poll) Tallies() []Tally {
	p.prepare()
	var list []Tally
	for _, d := range p.devices {
		for _, c := range d.commands {
			list = append(list, c.tell(p.underWay(c == p.turn.tally)))
		}
		list = append(list, d.tally.tell(p.underWay(d.tallies(p.turn.tally))))
	}
	return append(list, p.all.tell(p.underWay(true)))
}

// underWay is the request that was sent and has not ended, if it counts.
func (p *Poll) underWay(counts bool) (requests, retries int64) {
	t := &p.turn
	switch {
	case !counts || t.tally == nil || t.sent.Asked == 0:
		return 0, 0
	case t.try > 1:
		return 1, 1
	}
	return 1, 0
}
