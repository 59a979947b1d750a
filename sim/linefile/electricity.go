package linefile

import (
	"fmt"
	"slices"

	"looptone/sim"
	"looptone/sim/loop"
)

// electricity lets devices go dark that have too little voltage, and come back, and
// weakens what they say and hear. It is a station that neither talks nor hears, on the
// grid of the processes, and on the line only where something is said of it.
type electricity struct {
	assembly *Assembly
	seat     *sim.Seat
	loop     *loop.Loop
	canDim   bool // of some device the lift-off voltage is known
	rewired  bool // since it was settled last
	wants    []float64
	off      []bool // a fault keeps it off: it draws nothing
	settled  loop.Solution
	dark     []loop.Dark // as the devices are now
	said     []loop.Dark // as was said last
	swapped  bool        // it was said that the host's leads are
	hearing  hearing
}

// rewire has the electricity go by what is described now, if anything is.
func (a *Assembly) rewire(now sim.Tick) {
	e := a.electricity
	switch {
	case e == nil && !a.plan.electric():
		return
	case e == nil:
		e = newElectricity(a)
		a.electricity = e
	}
	e.wire(now)
	e.seat.Wake()
}

func newElectricity(a *Assembly) *electricity {
	n := len(a.Devices)
	e := &electricity{assembly: a, wants: make([]float64, n), off: make([]bool, n), dark: make([]loop.Dark, n), said: make([]loop.Dark, n)}
	e.hearing.seats = a.Seats
	e.seat = a.Line.Join(e)
	e.seat.Name = "electricity"
	e.seat.Cut(true)
	return e
}

// wire takes over what is described. It goes together: nothing else gets into a plan.
func (e *electricity) wire(now sim.Tick) {
	e.loop, _ = e.assembly.plan.wires()
	e.canDim = slices.ContainsFunc(e.loop.Devices, func(d loop.Device) bool { return d.LiftOffV > 0 })
	e.rewired = true
	e.hearing.reckon(e.loop, e.assembly)
	if len(e.loop.Cables) > 0 {
		e.assembly.Faults.Wire(now, e.behind)
	}
}

// behind reports whether a device hangs behind another one: at a cable further from
// the supply, or further along the wires at the same one.
func (e *electricity) behind(tag, other string) bool {
	order, devices := e.assembly.plan.order, e.loop.Devices
	i, before := devices[e.assembly.place(tag)].Behind, devices[e.assembly.place(other)].Behind
	if i == before {
		return slices.Index(order, tag) > slices.Index(order, other)
	}
	for i != loop.Source {
		if i = e.loop.Cables[i].Behind; i == before {
			return true
		}
	}
	return false
}

// Step settles who is lit, and tells.
func (e *electricity) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	e.update(now)
	for i := range e.settled.Devices {
		e.switchTo(now, i, e.settled.Devices[i].Dark)
		e.say(now, i)
	}
	e.sayHost(now)
	if !e.canDim {
		return nil, sim.Never
	}
	grid := sim.Ticks(e.assembly.plan.on.grid)
	return nil, (now/grid + 1) * grid
}

// update settles the loop at the currents of now, if they or the loop have changed.
func (e *electricity) update(now sim.Tick) {
	changed := e.rewired
	for i, d := range e.assembly.Devices {
		t := d.Transmitter()
		t.To(now)
		want, off := t.WantMA(), e.assembly.Faults.Off(e.loop.Devices[i].Name)
		if off {
			want = 0
		}
		changed = changed || want != e.wants[i]
		e.wants[i], e.off[i] = want, off
	}
	if !changed {
		return
	}
	e.rewired = false
	e.loop.SettleInto(&e.settled, e.wants)
}

// switchTo gives a device its voltage, or takes it away.
func (e *electricity) switchTo(now sim.Tick, i int, dark loop.Dark) {
	if was := e.dark[i]; (was == loop.Lit) != (dark == loop.Lit) {
		e.assembly.Faults.Power(now, e.loop.Devices[i].Name, dark == loop.Lit)
	}
	e.dark[i] = dark
}

// say tells that a device is dark, or back. Of one that a fault keeps off nothing is
// said.
func (e *electricity) say(now sim.Tick, i int) {
	if e.off[i] || e.dark[i] == e.said[i] {
		return
	}
	goes := "goes"
	if e.said[i] != loop.Lit {
		goes = "stays"
	}
	e.said[i] = e.dark[i]
	d, has := &e.loop.Devices[i], &e.settled.Devices[i]
	switch e.dark[i] {
	case loop.Lit:
		e.tell(now, fmt.Sprintf("%s is back: %.1f V across it", d.Name, has.V))
	case loop.TooLow:
		e.tell(now, fmt.Sprintf("%s %s dark: %s", d.Name, goes, shortage(has.WasV, d.LiftOffV)))
	case loop.Backwards:
		e.tell(now, fmt.Sprintf("%s %s dark: its leads are swapped, it draws nothing", d.Name, goes))
	}
}

// shortage is a voltage that is too little, and how much is wanted. What the supply cannot
// push through the loop is reckoned below zero; nobody would measure that.
func shortage(v, want float64) string {
	if v <= 0 {
		return fmt.Sprintf("nothing left for it, it wants %.1f V", want)
	}
	left, wants := apart(v, want, 1)
	return fmt.Sprintf("only %s V left for it, it wants %s V", left, wants)
}

// sayHost tells what there is to be told of the host, and who does not hear whom.
func (e *electricity) sayHost(now sim.Tick) {
	if is := e.loop.Host.Swapped; is && !e.swapped {
		e.tell(now, "the leads of the host are swapped; that changes nothing, tones alternate")
	}
	e.swapped = e.loop.Host.Swapped
	for _, news := range e.hearing.news() {
		e.tell(now, news)
	}
}

// apart are two numbers with so many digits behind the point, or as many more as tell
// them apart.
func apart(a, b float64, digits int) (string, string) {
	for ; ; digits++ {
		x, y := fmt.Sprintf("%.*f", digits, a), fmt.Sprintf("%.*f", digits, b)
		if x != y || digits == 9 {
			return x, y
		}
	}
}

func (e *electricity) tell(now sim.Tick, news string) {
	if tell := e.assembly.News; tell != nil {
		tell(now, news)
	}
}

// TerminalV is the voltage across a device now, by its place in the description; ok is
// false where nothing was said of the electricity.
func (a *Assembly) TerminalV(i int) (v float64, ok bool) {
	e := a.electricity
	if e == nil {
		return 0, false
	}
	if !e.canDim || len(e.settled.Devices) == 0 {
		e.update(a.Line.Now()) // else as the last step left it, which has switched the devices too
	}
	if e.off[i] {
		return 0, true
	}
	return e.settled.Devices[i].V, true
}
