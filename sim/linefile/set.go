package linefile

import (
	"errors"
	"fmt"
	"strings"

	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/setting"
)

// readSet reads which key of which device, or of the line, is set, and to what.
func readSet(t *userfile.Table, d *Description, x *Action) {
	t.NeedBeside("set", "to")
	x.to, _ = t.Ask("to")
	path, ok := t.Text("set")
	if !ok {
		return
	}
	if x.key, x.onLine = underLine(path); x.onLine {
		checkLineKey(t, x)
		return
	}
	if x.device, x.key, ok = d.split(path); !ok {
		tag, _, _ := strings.Cut(path, ".")
		t.Refuse("set", notOnTheLine("device", tag, append(d.tags(), "or "+theLine)))
		return
	}
	switch x.key {
	case "":
		t.Refuse("set", fmt.Errorf("set: got %q, want a key of the device behind a point, for instance %s.process.value", path, x.device))
	case "tag":
		t.Refuse("set", fmt.Errorf("the tag of %s cannot be set: it names the device on this line", x.device))
	}
}

// split parts a path into the tag of a device, which may hold points itself, and
// a key below; ok is false where there is no such device.
func (d *Description) split(path string) (tag, key string, ok bool) {
	for _, t := range d.tags() {
		rest, is := strings.CutPrefix(path, t)
		if is && (rest == "" || rest[0] == '.') && len(t) >= len(tag) {
			tag, key, ok = t, strings.TrimPrefix(rest, "."), true
		}
	}
	return tag, key, ok
}

func foreseeSet(p *plan, x *Action) error {
	if x.onLine {
		w, err := p.setLine(x)
		if err == nil {
			p.wiring = w
		}
		return err
	}
	e, err := p.set(x)
	if err == nil {
		p.devices[p.place(x.device)] = e
	}
	return err
}

// set reads a device as it will be described. What the device itself refuses, one
// that was just switched on refuses too.
func (p *plan) set(x *Action) (entry, error) {
	t, err := x.graft(p.devices[p.place(x.device)].table)
	if err != nil {
		return entry{}, x.table.Placed("set", err)
	}
	return p.become(x, t)
}

// become reads the device of x as t describes it.
func (p *plan) become(x *Action, t *userfile.Table) (entry, error) {
	i := p.place(x.device)
	before := &p.devices[i]
	e := entryOf(t, i, p.on)
	if err := t.End(); err != nil {
		return entry{}, err
	}
	if e.valve != "" && p.place(e.valve) < 0 {
		return entry{}, t.Placed("process.valve", notOnTheLine("valve", e.valve, tags(p.devices)))
	}
	if e.Polling != before.Polling {
		if err := p.alone(i, &e, func(j int) uint8 { return p.devices[j].Polling }); err != nil {
			return entry{}, err
		}
	}
	if e.hookup != before.hookup {
		p := p.clone()
		p.devices[i] = e
		if err := x.fits(p); err != nil {
			return entry{}, err
		}
	}
	trial, err := device.New(before.Config)
	if err != nil {
		return entry{}, t.Placed("", err)
	}
	return e, refusedBy(t, trial.Reconfigure(0, e.Config))
}

// alone refuses that device i becomes e where it takes the polling address that
// another one has now.
func (p *plan) alone(i int, e *entry, polling func(j int) uint8) error {
	for j := range p.devices {
		if other := &p.devices[j]; j != i && polling(j) == e.Polling && !other.shares && !e.shares {
			return e.table.Placed("polling", fmt.Errorf("polling address %d is that of %q: want another one, "+
				"or allow_duplicate = true for one of the two", e.Polling, other.Tag))
		}
	}
	return nil
}

// graft is the table of a device with the value in its place. A number that is set
// as the value of a process is a constant process; its noise, and the failure of
// its sensor, stay.
func (x *Action) graft(t *userfile.Table) (*userfile.Table, error) {
	if x.key != "process.value" {
		return t.Graft(x.key, x.to, x.table, "set", "to")
	}
	constant := map[string]any{"model": "constant"}
	process, _ := t.Value("process").(map[string]any)
	for _, key := range []string{"noise", "fails_at_s"} {
		if v, ok := process[key]; ok {
			constant[key] = v
		}
	}
	t, err := t.Graft("process", constant, x.table, "set", "to")
	if err != nil {
		return nil, err
	}
	return t.Graft(x.key, x.to, x.table, "set", "to")
}

// refusedBy is what a device refuses, with its place in the table.
func refusedBy(t *userfile.Table, err error) error {
	var refused *setting.Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &refused):
		return t.Placed(refused.Name, sentence(t, refused))
	}
	return t.Placed("", err)
}

// set sets a value of a device, or of the line.
func set(a *Assembly, now sim.Tick, x *Action) error {
	if x.onLine {
		return setLine(a, now, x)
	}
	e, err := a.plan.set(x)
	if err != nil {
		return err
	}
	i := a.place(x.device)
	if x.key == "polling" { // a host may have given others another one
		if err := a.plan.alone(i, &e, func(j int) uint8 { return a.Devices[j].Polling() }); err != nil {
			return err
		}
	}
	if err := a.reconfigure(now, i, e, x.key); err != nil {
		return err
	}
	return refusedBy(e.table, a.Devices[i].Forget(now, x.key))
}

// reconfigure has device i be as e describes it, from now on. What is different is
// under a key.
func (a *Assembly) reconfigure(now sim.Tick, i int, e entry, key string) error {
	dev := a.Devices[i]
	if err := refusedBy(e.table, dev.Reconfigure(now, e.Config)); err != nil {
		return err
	}
	before := a.plan.devices[i]
	a.plan.devices[i] = e
	a.Seats[i].Wake()
	if e.hookup != before.hookup || e.Level != before.Level {
		a.rewire(now)
	}
	if strings.HasPrefix(key, "process") && e.valve != "" {
		dev.Transmitter().Follow(a.Devices[a.place(e.valve)].Transmitter())
	}
	return nil
}
