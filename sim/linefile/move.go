package linefile

import (
	"fmt"
	"slices"

	"looptone/frame/userfile"
	"looptone/sim"
)

func readMove(t *userfile.Table, d *Description, x *Action) {
	x.device = tagAt(t, "move", d)
	if x.behind = tagAt(t, "behind", d); x.behind == x.device && x.behind != "" {
		t.Refuse("behind", fmt.Errorf("behind: got %q, want another device than the one that is moved", x.behind))
	}
}

func sayMove(x *Action, when string) string {
	if x.behind == "" {
		return fmt.Sprintf("%s is the first on the wires %s", x.device, when)
	}
	return fmt.Sprintf("%s hangs behind %s %s", x.device, x.behind, when)
}

func foreseeMove(p *plan, x *Action) error { return p.move(x) }

func move(a *Assembly, now sim.Tick, x *Action) error {
	if err := a.plan.move(x); err != nil {
		return err
	}
	if a.electricity != nil {
		a.rewire(now)
	}
	a.Faults.Move(now, x.device, x.behind) // both are there, which was read
	return nil
}

// reorder has a device hang right behind another one in the order on the wires; first,
// where that has no name.
func (p *plan) reorder(tag, behind string) {
	p.order = slices.DeleteFunc(p.order, func(other string) bool { return other == tag })
	p.order = slices.Insert(p.order, slices.Index(p.order, behind)+1, tag) // -1 for none
}

// move has a device hang right behind another one: at the cable where that hangs, or
// at the source end.
func (p *plan) move(x *Action) error {
	p.reorder(x.device, x.behind)
	if len(p.wiring.cables) == 0 {
		return nil
	}
	cable := ""
	if x.behind != "" {
		cable = p.wiring.hangsAt(&p.devices[p.place(x.behind)])
	}
	e := &p.devices[p.place(x.device)]
	t, err := e.table.Graft("behind", cable, x.table, "move", "move")
	if err != nil {
		return x.table.Placed("move", err)
	}
	e.table = t
	e.hookup.behind, e.hookup.placed, e.hookup.given = cable, true, true
	return nil
}
