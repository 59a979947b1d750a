package linefile

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"looptone/frame/near"
	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/loop"
)

// wiring is what [line] says of the electricity. Cables are in the order of the file.
type wiring struct {
	table  *userfile.Table
	loop   loop.Loop // without cables and devices
	hostAt string    // "resistor", "supply" or a tag; tags have no lower-case letters
	cables []cable
}

// lineKeys are the keys of [line] that are not about the electricity: they make the
// line, and stay.
var lineKeys = []string{"name", "seed", "grid_ms", "store_ms"}

// electric reports whether anything was said of the electricity.
func (w *wiring) electric() bool {
	return slices.ContainsFunc(w.table.Keys(), func(key string) bool { return !slices.Contains(lineKeys, key) })
}

// Limits of what a description may hold; what is beyond is a slip of the pen.
const (
	mostV      = 1000
	mostOhm    = 1e6
	mostNF     = 1e6
	mostSumMA  = 1e5
	usualHostV = sim.NominalLevel
)

// What is usual on a loop.
//
// Source: common practice (a supply of 24 V); from memory (the impedances).
const (
	usualSupplyV   = 24
	usualSupplyOhm = 1
	usualHostOhm   = 100
)

// wiringOf reads the electricity of a [line]; what it needs to know of the devices is
// checked with them.
func wiringOf(t *userfile.Table) wiring {
	w := wiring{table: t, hostAt: "resistor"}
	w.loop.Supply = loop.Supply{
		V:      t.AboveZero("supply_v", mostV, usualSupplyV),
		Ohm:    t.Within("supply_ohm", 0, mostOhm, usualSupplyOhm),
		MostMA: t.AboveZero("supply_ma", mostSumMA, 1),
	}
	if !t.Has("supply_ma") {
		w.loop.Supply.MostMA = 0 // not known
	}
	w.loop.ResistorOhm = t.Within("resistor_ohm", 0, mostOhm, loop.UsualResistorOhm)
	w.loop.BarrierOhm = t.Within("barrier_ohm", 0, mostOhm, 0)
	t.List("series", "instrument", `{ name = "indicator", ohm = 10 }`, func(t *userfile.Table) {
		w.loop.Series = append(w.loop.Series, instrument(t))
	})
	if at, given := t.Text("host_at"); given {
		w.hostAt = at
	}
	w.loop.Host = loop.Host{
		V:       t.Within("host_v", 0.001, 10, usualHostV),
		Ohm:     t.Within("host_ohm", 0, mostOhm, usualHostOhm),
		NF:      t.Within("host_nf", 0, mostNF, 0),
		Swapped: t.Truth("host_swapped", false),
	}
	w.cables = cables(t)
	return w
}

func instrument(t *userfile.Table) loop.Instrument {
	t.Need("name", `"indicator"`)
	name, given := t.Text("name")
	if given && name == "" {
		t.Refuse("name", errors.New(`name "" is empty, want one such as "indicator"`))
	}
	t.Need("ohm", "10")
	return loop.Instrument{Name: name, Ohm: t.Within("ohm", 0, mostOhm, 0)}
}

// wires is the loop with its devices. An error is a [*userfile.Error] that says what
// does not go together.
func (p *plan) wires() (*loop.Loop, error) {
	l := p.wiring.loop
	order, err := p.wiring.ordered()
	if err != nil {
		return nil, err
	}
	for _, i := range order {
		c := p.wiring.cables[i]
		c.Behind = p.wiring.placeOf(order, c.behind)
		l.Cables = append(l.Cables, c.Cable)
	}
	for i := range p.devices {
		e := &p.devices[i]
		if err := p.wiring.checkBehind(e); err != nil {
			return nil, err
		}
		l.Devices = append(l.Devices, loop.Device{
			Name: e.Tag, Behind: p.wiring.placeOf(order, p.wiring.hangsAt(e)),
			LiftOffV: e.hookup.liftOffV, InputNF: e.hookup.inputNF, Reversed: e.hookup.reversed,
			ToneMA: float64(e.Level) / loop.UsualResistorOhm * 1000,
		})
	}
	return &l, p.clip(&l)
}

// clip puts the host where it is.
func (p *plan) clip(l *loop.Loop) error {
	switch at := p.wiring.hostAt; at {
	case "resistor":
		l.Host.At = loop.AcrossResistor
	case "supply":
		l.Host.At = loop.AcrossSupply
	default:
		l.Host.At, l.Host.Device = loop.AcrossDevice, p.place(at)
		if l.Host.Device < 0 {
			return p.wiring.table.Placed("host_at", unknownPlace(at, tags(p.devices)))
		}
	}
	return nil
}

// unknownPlace refuses a place where no host can be clipped on.
func unknownPlace(at string, tags []string) error {
	places := append([]string{"resistor", "supply"}, tags...)
	if instead := near.Name(at, places); instead != "" {
		return fmt.Errorf("host_at: nothing is called %q: did you mean %q?", at, instead)
	}
	return fmt.Errorf("host_at: got %q, want one of %s", at, strings.Join(places, ", "))
}

// feeds refuses a supply whose voltage is less than a device needs, whatever is in
// between.
func (p *plan) feeds() error {
	v := p.wiring.loop.Supply.V
	for i := range p.devices {
		e := &p.devices[i]
		if v >= e.hookup.liftOffV {
			continue
		}
		why := fmt.Errorf("%g V are less than the lift-off voltage of %s, %g V: want a supply of more", v, e.Tag, e.hookup.liftOffV)
		if p.wiring.table.Has("supply_v") {
			return p.wiring.table.Placed("supply_v", why)
		}
		return e.table.Placed("lift_off_v", why)
	}
	return nil
}
