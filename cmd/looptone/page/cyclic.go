package page

import (
	"fmt"
	"math"

	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/master"
)

// usualCommand is what all devices are asked for as usual: their variables and the loop
// current.
const usualCommand = 3

// everybody is all devices asked, whenever there is a turn.
func (h *Hands) everybody() (queries []master.Query) {
	for _, d := range h.assembly.Devices {
		queries = append(queries, master.Query{Device: master.Target{Address: d.Config().Unique()}, Command: usualCommand})
	}
	return queries
}

// poll has one device, or all, asked again and again, in place of what was polled.
func (h *Hands) poll(w *Wish) (o Outcome, err error) {
	if err := readsOnly(uint16(w.Command)); err != nil {
		return o, err
	}
	d := h.deskBy(w)
	asked, err := h.polled(w)
	if err != nil {
		return o, err
	}
	var queries []master.Query
	for i, to := range asked {
		l := letter{to: to, primary: d.primary, command: uint16(w.Command)}
		if l.data, err = to.encode(w); err != nil {
			return o, err
		}
		if i == 0 {
			if err := l.show(&o); err != nil {
				return o, err
			}
		}
		queries = append(queries, master.Query{Device: master.Target{Address: to.address}, Command: l.command, Data: l.data,
			Every: sim.Tick(math.Round(w.Every * float64(sim.Second)))})
	}
	if err := longEnough(queries, asked); err != nil {
		return o, err
	}
	o.Says = fmt.Sprintf("the %s polls %s; each device is asked first who it is", d.name(), h.masters.queriesText(queries))
	if !w.Preview {
		h.repoll(d, queries)
	}
	return o, nil
}

// polled are the devices that a wish wants polled: one, or all.
func (h *Hands) polled(w *Wish) (list []whom, err error) {
	if w.Device == "" && w.Polling == nil {
		for _, d := range h.assembly.Devices {
			list = append(list, whom{d, d.Config().Unique()})
		}
		return list, nil
	}
	to, err := h.whom(w)
	return []whom{to}, err
}

// readsOnly refuses to ask again and again for what changes something.
func readsOnly(command uint16) error {
	def, known := payload.Lookup(command)
	switch {
	case !known:
		return fmt.Errorf("command: got %d, of which nothing is known, want one that only reads, for instance 3", command)
	case def.Write:
		return fmt.Errorf("command: got %d (%s), which writes, want one that only reads, for instance 3", command, def.Name)
	}
	return nil
}

// longEnough refuses a period in which the devices cannot all answer.
func longEnough(queries []master.Query, asked []whom) error {
	if queries[0].Every == 0 {
		return nil
	}
	var least sim.Tick
	for i, to := range asked {
		preambles, latency := to.preambles(), sim.Tick(0)
		if to.device != nil {
			c := to.device.Config()
			preambles, latency = max(preambles, int(c.ReplyPreambles)), c.Latency
		}
		least += master.Shortest(queries[i:i+1], preambles, latency).Sum()
	}
	if queries[0].Every >= least {
		return nil
	}
	return fmt.Errorf("every: got %g s, want 0 (whenever there is a turn), or %.2f s and more: asking and answering takes so long",
		queries[0].Every.Seconds(), math.Ceil(least.Seconds()*100)/100)
}

// repoll has queries polled in place of what a desk polled before.
func (h *Hands) repoll(d *desk, queries []master.Query) {
	before, was := d.queries(), d.isOn()
	d.poll(queries)
	h.push(h.polledBefore(d, was, before))
}

// quiet ends what a master asks again and again, and its scan. The secondary one leaves
// the line.
func (h *Hands) quiet(w *Wish) (o Outcome, err error) {
	d := h.deskBy(w)
	before, was := d.queries(), d.isOn()
	if !was || len(before) == 0 && !d.scan.goes() && d.primary {
		return o, fmt.Errorf("as: the %s asks nothing, want the other one, or nothing to be done", d.name())
	}
	o.Says = fmt.Sprintf("the %s scans and polls no more", d.name())
	if !d.primary {
		o.Says = "the secondary master leaves the line"
	}
	if w.Preview {
		return o, nil
	}
	if d.primary {
		d.join()
		d.quiet()
		d.redeal()
	} else {
		d.leave()
	}
	h.push(h.polledBefore(d, was, before))
	return o, nil
}

// polledBefore takes back what a desk polls.
func (h *Hands) polledBefore(d *desk, was bool, before []master.Query) *deed {
	says := fmt.Sprintf("the %s polls nothing, as before", d.name())
	switch {
	case !was:
		says = fmt.Sprintf("the %s leaves the line, as before", d.name())
	case len(before) > 0:
		says = fmt.Sprintf("the %s polls %s, as before", d.name(), h.masters.queriesText(before))
	}
	return &deed{says: says, back: func(w *Wish) (Outcome, error) {
		if w.Preview {
			return Outcome{Says: says}, nil
		}
		if was {
			d.poll(before)
		} else {
			d.leave()
		}
		return Outcome{Says: says}, nil
	}}
}
