package linefile

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/device"
)

// Foresee refuses what would be wrong with x, as far as that can be known without doing
// it. An error is an [*Error].
func (a *Assembly) Foresee(x *Action) error { return a.foresee(x) }

// Says is what x does, in a sentence; of a value that is set also what was described
// until now, where something was.
func (a *Assembly) Says(x *Action) string {
	says := x.says(fromNow)
	if x.verb.name != "set" {
		return says
	}
	key := x.key
	if key == "process.value" {
		key = "process.model"
	}
	was, given := a.tableOf(x).At(key)
	switch {
	case !given:
		return says
	case key == "process.model" && was == "constant":
		was, _ = a.tableOf(x).At("process.value")
	case key == "process.model":
		return fmt.Sprintf("%s; until now the process goes by the model %s", says, valueText(was))
	}
	return fmt.Sprintf("%s; until now %s", says, valueText(was))
}

// tableOf is the table in which x sets something.
func (a *Assembly) tableOf(x *Action) *userfile.Table {
	if x.onLine {
		return a.plan.wiring.table
	}
	return a.plan.devices[a.place(x.device)].table
}

// A Reversal takes back what an action did to a line.
type Reversal struct {
	Says   string // what it does, in a sentence
	Action string // the same as an action, a JSON object; empty where none does just that
	do     func(now sim.Tick) error
	line   *sim.Line
}

// Do takes it back. Other actions may have come in between, and what they changed stays
// as it is, but for what stands in the same table.
func (r *Reversal) Do() error { return r.do(r.line.Now()) }

// DoReversibly does what x, which has no time, says, as [Assembly.Do] does, and tells
// how that is taken back; nil for an action that cannot be.
func (a *Assembly) DoReversibly(x *Action) (did string, back *Reversal, err error) {
	back = a.reversal(x)
	sets := x.verb.name == "set" && !x.onLine
	var before device.Past
	if sets {
		before = a.Devices[a.place(x.device)].Past()
	}
	if did, err = a.Do(x); err != nil {
		return "", nil, err
	}
	if back != nil {
		back.line = a.Line
	}
	if back != nil && x.verb.name == "fault" { // its name is known by now
		back.Says = fmt.Sprintf("fault %q is gone again", x.fault.Name)
		back.Action = object("remove", x.fault.Name)
	}
	if sets {
		back.do = recalling(a.Devices[a.place(x.device)], before, back.do)
	}
	return did, back, nil
}

// reversal is how x will be taken back, made before it is done.
func (a *Assembly) reversal(x *Action) *Reversal {
	switch x.verb.name {
	case "set":
		return a.resetting(x)
	case "mute", "unmute":
		return a.unmuting(x)
	case "move":
		return a.movingBack(x)
	case "fault":
		return &Reversal{do: func(now sim.Tick) error {
			if !a.Faults.Remove(now, x.fault.Name) {
				return fmt.Errorf("fault %q is gone already", x.fault.Name)
			}
			return nil
		}}
	case "remove":
		f, _ := a.Faults.Find(x.name)
		return &Reversal{Says: fmt.Sprintf("fault %q is there again", x.name), do: func(now sim.Tick) error {
			_, err := a.Faults.Add(now, f)
			return err
		}}
	}
	return nil
}

// resetting gives a key of a device, or of the line, the value that it has now. What
// stands in one table goes together.
func (a *Assembly) resetting(x *Action) *Reversal {
	root, _, _ := strings.Cut(x.key, ".")
	root, _, _ = strings.Cut(root, "[")
	whole, given := a.tableOf(x).At(root)
	r := &Reversal{Says: fmt.Sprintf("%s of %s is as it was", x.key, x.ofWhom())}
	if was, ok := a.tableOf(x).At(x.key); ok && (x.key != "process.value") {
		r.Says = fmt.Sprintf("%s of %s is %s again", x.key, x.ofWhom(), valueText(was))
		r.Action = object("set", x.path(), "to", was)
	}
	r.do = func(now sim.Tick) error {
		t := a.tableOf(x).Prune(root)
		if given {
			var err error
			if t, err = t.Graft(root, whole, x.table, "set", "to"); err != nil {
				return err
			}
		}
		return a.reset(now, x, t, root)
	}
	return r
}

// path is where x sets something, as "set" has it.
func (x *Action) path() string {
	if x.onLine {
		return theLine + "." + x.key
	}
	return x.device + "." + x.key
}

// reset has the device, or the line, of x be as t describes it.
func (a *Assembly) reset(now sim.Tick, x *Action, t *userfile.Table, root string) error {
	if x.onLine {
		w, err := a.plan.rewired(x, t)
		if err != nil {
			return err
		}
		a.plan.wiring = w
		a.rewire(now)
		return nil
	}
	e, err := a.plan.become(x, t)
	if err != nil {
		return err
	}
	return a.reconfigure(now, a.place(x.device), e, root)
}

// recalling also has what was forgotten of what a host had written count again.
func recalling(d *device.Device, before device.Past, reset func(sim.Tick) error) func(sim.Tick) error {
	after := d.Past()
	return func(now sim.Tick) error {
		if err := reset(now); err != nil {
			return err
		}
		return d.Recall(now, before, after)
	}
}

// unmuting has a device be as silent as it is now.
func (a *Assembly) unmuting(x *Action) *Reversal {
	seat, says, verb := a.Seats[a.place(x.device)], "is heard again", "unmute"
	was := seat.Muted()
	if was {
		says, verb = "is silent again", "mute"
	}
	return &Reversal{Says: x.device + " " + says, Action: object(verb, x.device), do: func(sim.Tick) error {
		seat.Mute(was)
		return nil
	}}
}

// movingBack has a device hang where it hangs now.
func (a *Assembly) movingBack(x *Action) *Reversal {
	order, i := a.plan.order, a.place(x.device)
	before := a.plan.devices[i]
	after, says := "", fmt.Sprintf("%s is the first on the wires again", x.device)
	if at := slices.Index(order, x.device); at > 0 {
		after = order[at-1]
		says = fmt.Sprintf("%s hangs behind %s again", x.device, after)
	}
	return &Reversal{Says: says, do: func(now sim.Tick) error {
		e := &a.plan.devices[i]
		a.plan.reorder(x.device, after)
		e.hookup = before.hookup
		if behind, given := before.table.At("behind"); given {
			e.table, _ = e.table.Graft("behind", behind, x.table, "move", "move") // it was there before
		} else {
			e.table = e.table.Prune("behind")
		}
		if a.electricity != nil {
			a.rewire(now)
		}
		a.Faults.Move(now, x.device, after)
		return nil
	}}
}

// object is a JSON object of pairs of keys and values, in their order.
func object(pairs ...any) string {
	var b strings.Builder
	b.WriteByte('{')
	for i := 0; i < len(pairs); i += 2 {
		if i > 0 {
			b.WriteByte(',')
		}
		v, err := json.Marshal(pairs[i+1])
		if err != nil {
			return "" // a date, a number that is none: not to be said in JSON
		}
		fmt.Fprintf(&b, "%q:%s", pairs[i], v)
	}
	return b.String() + "}"
}
