package linefile

import (
	"fmt"
	"slices"
	"strconv"

	"looptone/frame/userfile"
	"looptone/sim"
)

// A verb is one of the things that an action can do, and the key for it.
type verb struct {
	name string
	read func(t *userfile.Table, d *Description, x *Action)
	// foresee refuses what will be wrong by then; nil for nothing. Its error and that of
	// do is an [*Error].
	foresee func(p *plan, x *Action) error
	do      func(a *Assembly, now sim.Tick, x *Action) error
	says    func(x *Action, when string) string
}

var verbs = []verb{
	{"set", readSet, foreseeSet, set, func(x *Action, when string) string {
		return fmt.Sprintf("%s of %s is %s %s", x.key, x.ofWhom(), valueText(x.to), when)
	}},
	{"mute", readWhom("mute"), nil, mute(true), func(x *Action, when string) string {
		return fmt.Sprintf("%s is silent %s", x.device, when)
	}},
	{"unmute", readWhom("unmute"), nil, mute(false), func(x *Action, when string) string {
		return fmt.Sprintf("%s is heard again %s", x.device, when)
	}},
	{"move", readMove, foreseeMove, move, sayMove},
	{"fault", readFaultOf, foreseeFault, addFault, sayFault},
	{"remove", readRemove, foreseeRemove, removeFault, func(x *Action, when string) string {
		return fmt.Sprintf("fault %q is gone %s", x.name, when)
	}},
	{"stop", readTrue("stop"), nil, stop, func(x *Action, when string) string { return "line time stands still " + when }},
	{"go", readGo, nil, goOn, func(*Action, string) string { return "line time goes on" }},
}

// valueText is a value as a sentence shows it.
func valueText(v any) string {
	switch v := v.(type) {
	case string:
		return strconv.Quote(v)
	case map[string]any, []any:
		return "as given"
	}
	return fmt.Sprint(v)
}

// ofWhom is whom something is set of.
func (x *Action) ofWhom() string {
	if x.onLine {
		return "the line"
	}
	return x.device
}

// readWhom reads the tag of the device that something is done to.
func readWhom(key string) func(*userfile.Table, *Description, *Action) {
	return func(t *userfile.Table, d *Description, x *Action) { x.device = tagAt(t, key, d) }
}

// tagAt reads the tag of a device under a key that does not say that it is one.
func tagAt(t *userfile.Table, key string, d *Description) string {
	tag, ok := t.Text(key)
	if ok && !slices.Contains(d.tags(), tag) {
		t.Refuse(key, notOnTheLine("device", tag, d.tags()))
	}
	return tag
}

func mute(on bool) func(*Assembly, sim.Tick, *Action) error {
	return func(a *Assembly, _ sim.Tick, x *Action) error {
		a.Seats[a.place(x.device)].Mute(on)
		return nil
	}
}
