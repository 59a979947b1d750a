package linefile

import (
	"fmt"
	"slices"

	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/fault"
)

// An Action is something that is done to a line at a moment: [[at]] in a
// description, or a JSON object with the same keys. The package documentation has
// them all.
type Action struct {
	Time  sim.Tick // of the line
	Timed bool     // Time was given; else now

	verb   *verb
	table  *userfile.Table // that describes it
	device string          // the tag of the device that something is done to
	onLine bool            // it is the line that something is set of
	key    string          // below that device's table, or the line's: what is set
	to     any             // and to what
	behind string          // tag of the device behind which it is moved; empty for the first place
	fault  fault.Fault
	name   string // of a fault that is removed
}

// ReadAction reads a JSON object, such as {"mute":"FT-102"}, that is a line of a
// file, with its number from 1. An error is an [*Error] with its place there.
func (d *Description) ReadAction(file string, line int, text []byte) (*Action, error) {
	t, err := userfile.ParseJSONLine(file, line, text)
	if err != nil {
		return nil, err
	}
	x := d.action(t)
	if err := t.End(); err != nil {
		return nil, err
	}
	return x, nil
}

// action reads an action from a table or an object.
func (d *Description) action(t *userfile.Table) *Action {
	x := &Action{table: t}
	x.Time, x.Timed = span(t, "time")
	x.verb = verbOf(t)
	if x.verb != nil {
		x.verb.read(t, d, x)
	}
	x.refuseBeside(t, "to", "set")
	x.refuseBeside(t, "behind", "move")
	return x
}

// refuseBeside refuses a key that goes with one verb only beside another one.
func (x *Action) refuseBeside(t *userfile.Table, key, verb string) {
	if _, given := t.Ask(key); given && x.verb != nil && x.verb.name != verb {
		t.Refuse(key, fmt.Errorf("%s stands beside %s, want it beside %s", key, x.verb.name, verb))
	}
}

// clone is x for one line: a fault gets its name there.
func (x *Action) clone() *Action {
	own := *x
	return &own
}

// verbOf reads what is to be done; nil where that is refused.
func verbOf(t *userfile.Table) (found *verb) {
	names := make([]string, len(verbs))
	for i := range verbs {
		names[i] = verbs[i].name
		t.Ask(names[i])
	}
	t.NeedOne(names, "mute", `"PT-101"`)
	for _, key := range t.Keys() {
		switch i := slices.Index(names, key); {
		case i < 0:
		case found != nil:
			t.Refuse(key, fmt.Errorf("%s stands beside %s, want each in an action of its own", key, found.name))
			return nil
		default:
			found = &verbs[i]
		}
	}
	return found
}

// says is what x does, in a sentence.
func (x *Action) says(when string) string { return x.verb.says(x, when) }

const fromNow = "from now on"

// fromThen is the same of a moment to come.
func fromThen(at sim.Tick) string { return fmt.Sprintf("from %g s on", at.Seconds()) }

// Do does what x says: at once, or when its time comes. It says what was done, or
// will be; an error is an [*Error]. Actions of one moment are done in the order in
// which they were given.
func (a *Assembly) Do(x *Action) (did string, err error) {
	now := a.Line.Now()
	switch {
	case !x.Timed:
		return a.act(now, x)
	case x.Time < now:
		return "", x.table.Placed("time", fmt.Errorf("time: got %g s, want %g s, the line's present time, or later",
			x.Time.Seconds(), roundUp(now).Seconds()))
	}
	if err := a.foresee(x); err != nil {
		return "", err
	}
	a.later.add(x)
	return x.says(fromThen(x.Time)), nil
}

// roundUp is a moment that can be written down in microseconds, and is not past.
func roundUp(now sim.Tick) sim.Tick {
	return (now + sim.Microsecond - 1) / sim.Microsecond * sim.Microsecond
}

// act does x now.
func (a *Assembly) act(now sim.Tick, x *Action) (did string, err error) {
	if err := x.verb.do(a, now, x); err != nil {
		return "", err
	}
	return x.says(fromNow), nil
}

// foresee refuses what will be wrong by then, as far as that can be known: after
// what is to be done before.
func (a *Assembly) foresee(x *Action) error {
	p := a.plan.clone()
	p.faults = a.Faults.Names()
	for _, before := range a.later.due {
		if before.Time <= x.Time {
			_ = p.foresee(before) // it will be told when its time comes
		}
	}
	return p.foresee(x)
}
