package page

import (
	"errors"
	"slices"

	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

// A desk is a master of the page and what it has to do, which changes while it works:
// single messages go before a scan, and that before what is polled.
//
// The master is handed one slip after the other. As long as nothing was sent, something
// else may be written on it: a message need not wait until a poll is due.
type desk struct {
	line     *sim.Line
	host     *linefile.Host // that it stands in for; nil: none
	primary  bool
	heedless bool   // goes on beside another master of its kind
	lost     func() // is told when it has stopped because of one

	master  *master.Master // nil: it is not on the line
	seat    *sim.Seat
	slip    master.Transaction // that the master has
	serving *errand            // whose that is; nil: nobody's

	sends   []*errand
	scan    *errand
	polling *errand
	asked   []master.Query // by polling
}

func (d *desk) name() string {
	if d.primary {
		return "primary master"
	}
	return "secondary master"
}

// queries is what is polled, here or by whom the desk will stand in for.
func (d *desk) queries() []master.Query {
	if d.host != nil {
		return d.host.Poll.Queries
	}
	return d.asked
}

// isOn reports whether there is a master of its kind on the line that the page may use.
func (d *desk) isOn() bool { return d.host != nil || d.master != nil }

// join puts the master on the line, if it is not there.
func (d *desk) join() {
	if d.master != nil && d.master.Done() {
		d.leave()
	}
	if d.master != nil {
		return
	}
	c := master.Config{Primary: d.primary, Heedless: d.heedless}
	host := d.host
	if host != nil {
		c = host.Master.Config
		host.Master.Close()
		d.line.Leave(host.Seat)
		d.host = nil
	}
	d.master = master.New(c, d.script)
	d.seat = d.line.Join(deskMaster{d.master, d})
	d.seat.Name = d.name()
	if host != nil {
		d.poll(host.Poll.Queries)
	}
}

// leave takes the master off the line, with all that it was to do.
func (d *desk) leave() {
	if d.host != nil {
		d.join() // so that there is one kind of master to take away
	}
	if d.master == nil {
		return
	}
	d.master.Close()
	d.line.Leave(d.seat)
	d.master, d.seat = nil, nil
	d.drop()
}

// drop forgets all that is to be done, and tells those whose messages these were.
func (d *desk) drop() {
	d.quiet()
	sends, serving := d.sends, d.serving
	d.sends, d.serving = nil, nil
	for _, e := range sends {
		if e.goes() {
			e.stop()
			e.dropped(e == serving && d.slip.Asked != 0)
		}
	}
}

// close ends what there is to be done; nobody is there any more to be told.
func (d *desk) close() {
	if d.master == nil {
		return
	}
	d.master.Close()
	for _, e := range d.sends {
		e.dropped = func(bool) {}
	}
	d.drop()
}

// quiet ends the scan and what is polled.
func (d *desk) quiet() {
	d.scan.stop()
	d.polling.stop()
	d.scan, d.polling, d.asked = nil, nil, nil
}

// poll has queries polled from now on, in place of others.
func (d *desk) poll(queries []master.Query) {
	d.join()
	d.polling.stop()
	d.polling, d.asked = nil, slices.Clone(queries)
	if len(queries) > 0 {
		p := master.Poll{Queries: d.asked, Retries: retries}
		d.polling = newErrand(p.Run)
	}
	d.redeal()
}

// look has a scan carried out, in place of another one.
func (d *desk) look(scan master.Script) {
	d.join()
	d.scan.stop()
	d.scan = newErrand(scan)
	d.redeal()
}

// send has a message sent, behind those that wait.
func (d *desk) send(s *sending) {
	d.join()
	e := newErrand(s.run)
	e.dropped = func(asked bool) { s.dropped(d.name(), asked) }
	d.sends = append(d.sends, e)
	d.redeal()
}

// redeal writes on the slip what is to be done now, if it was not sent.
func (d *desk) redeal() {
	if d.slip.Asked == 0 {
		d.deal()
		d.seat.Wake()
	}
}

func (d *desk) deal() {
	d.serving = d.first()
	d.slip = master.Transaction{Earliest: sim.Never}
	if d.serving != nil {
		t := d.serving.ahead()
		d.slip = master.Transaction{Address: t.Address, Command: t.Command, Data: t.Data, Preambles: t.Preambles, Earliest: t.Earliest}
	}
}

// first is whose turn it is.
func (d *desk) first() *errand {
	for len(d.sends) > 0 {
		if d.sends[0].ahead() != nil {
			return d.sends[0]
		}
		d.sends = d.sends[1:]
	}
	for _, e := range [...]*errand{d.scan, d.polling} {
		if e.ahead() != nil {
			return e
		}
	}
	return nil
}

// script is what the master does.
func (d *desk) script(yield func(*master.Transaction) bool) {
	for {
		d.deal()
		if !yield(&d.slip) {
			return
		}
		d.serving.took(&d.slip)
	}
}

// A deskMaster is the master on the line. Only from outside it is seen that it stops before
// its script has begun.
type deskMaster struct {
	*master.Master
	desk *desk
}

// Step tells the desk when the master stops.
func (m deskMaster) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	went := !m.Done()
	send, wake := m.Master.Step(now, heard)
	if went && m.Done() {
		m.desk.stopped()
	}
	return send, wake
}

// stopped forgets what the master does not do any more.
func (d *desk) stopped() {
	d.quiet()
	if errors.Is(d.master.Err(), master.ErrRival) {
		d.lost()
	}
	d.drop()
}
