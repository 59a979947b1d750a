package view

import "looptone/sim/loop"

// A step is the voltage behind something that is in series with the devices.
type step struct {
	name            string
	ohm, now, worst float64
}

// steps are those of a loop: the supply, and what behind it has a resistance.
func steps(b *loop.Budget) []step {
	all := []step{{name: "supply", now: b.Loop.Supply.V, worst: b.Loop.Supply.V}}
	sum := 0.0
	add := func(name string, ohm float64) {
		if ohm == 0 {
			return
		}
		sum += ohm
		all = append(all, step{name, ohm, b.Loop.Supply.V - b.Now.SumMA*sum/1000, b.Loop.Supply.V - b.Worst.SumMA*sum/1000})
	}
	add("resistor", b.Loop.ResistorOhm)
	add("barrier", b.Loop.BarrierOhm)
	for _, in := range b.Loop.Series {
		add(in.Name, in.Ohm)
	}
	return all
}
