package loop

import "math/cmplx"

// The nodes of a network. Each has a parent nearer to the supply; the root of them all
// is the other wire, which is at 0 V.
const (
	otherWire      = iota - 1
	behindSupply   // and before the resistor
	behindResistor // and before barrier and instruments
	behindSeries   // where the cables begin; each cable has a node at its far end
)

// leastOhm is the output impedance, in ohm, of a host that is said to have none: a
// current with nothing beside it has to be a number. It takes some nanovolts.
const leastOhm = 1e-6

// A network is what the tones of one frequency meet on a loop. Impedances are in ohm,
// admittances in siemens, currents in amperes.
type network struct {
	loop   *Loop
	parent []int        // of each node; a parent stands before its children
	series []complex128 // impedance between a node and its parent
	shunt  []complex128 // admittance between a node and the other wire
	host   complex128   // admittance of its capacitance

	// What there is of each node while somebody talks.
	passes []complex128 // series, the host considered where it is across it
	admits []complex128 // of the node and all that hangs on it
	pushes []complex128 // current that comes into the node from all that hangs on it
	on     []complex128 // part of its parent's voltage that the node has, but for pushes
	volts  []complex128
}

// network lays the loop out as it is at an angular frequency, in radians a second.
func (l *Loop) network(omega float64) *network {
	nodes := behindSeries + 1 + len(l.Cables)
	n := &network{loop: l, parent: make([]int, nodes), host: susceptance(omega, l.Host.NF)}
	for _, part := range []*[]complex128{&n.series, &n.shunt, &n.volts, &n.passes, &n.admits, &n.pushes, &n.on} {
		*part = make([]complex128, nodes)
	}
	n.join(behindSupply, otherWire, l.Supply.Ohm)
	n.join(behindResistor, behindSupply, l.ResistorOhm)
	n.join(behindSeries, behindResistor, l.inlineOhm())
	for i := range l.Cables {
		n.lay(i, omega)
	}
	for i := range l.Devices {
		n.shunt[end(l.Devices[i].Behind)] += susceptance(omega, l.Devices[i].InputNF)
	}
	return n
}

// end is the node at the far end of a cable, or where the first ones begin.
func end(cable int) int { return behindSeries + cable - Source }

// susceptance is the admittance of a capacitance in nanofarads.
func susceptance(omega, nf float64) complex128 { return complex(0, omega*nf*1e-9) }

func (n *network) join(node, parent int, ohm float64) {
	n.parent[node], n.series[node] = parent, complex(ohm, 0)
}

// lay puts a cable down as its equivalent pi.
func (n *network) lay(cable int, omega float64) {
	c := &n.loop.Cables[cable]
	near, far := end(c.Behind), end(cable)
	series, shunt := c.pi(omega)
	n.parent[far], n.series[far] = near, series
	n.shunt[near] += shunt
	n.shunt[far] += shunt
}

// port is the pair of nodes that somebody is clipped on: the resistor's, or a node and
// the other wire.
func (n *network) port(who int) (hot, other int) {
	host := &n.loop.Host
	switch {
	case who != TheHost:
		return end(n.loop.Devices[who].Behind), otherWire
	case host.At == AcrossResistor:
		return behindResistor, behindSupply
	case host.At == AcrossSupply:
		return behindSupply, otherWire
	}
	return end(n.loop.Devices[host.Device].Behind), otherWire
}

// talk finds the voltages while one talks: a device is a current, a host a current with
// its output impedance beside it.
func (n *network) talk(who int) {
	amps, load := 0.0, n.host
	if who == TheHost {
		host := &n.loop.Host
		ohm := max(host.Ohm, leastOhm)
		amps = host.V * (UsualResistorOhm + host.Ohm) / UsualResistorOhm / ohm
		load += complex(1/ohm, 0)
	} else {
		amps = n.loop.Devices[who].ToneMA / 1000
	}
	n.load(load)
	clear(n.pushes)
	hot, other := n.port(who)
	n.pushes[hot] += complex(amps, 0)
	if other != otherWire {
		n.pushes[other] -= complex(amps, 0)
	}
	n.solve()
}

// load clips the host on, which has this admittance between its clips.
func (n *network) load(host complex128) {
	copy(n.passes, n.series)
	copy(n.admits, n.shunt)
	hot, other := n.port(TheHost)
	if other == otherWire {
		n.admits[hot] += host
		return
	}
	ohm := n.passes[hot]
	n.passes[hot] = ohm / (1 + ohm*host)
}

// solve gathers from the leaves up what each node is to its parent, Norton's way, and
// goes down again with the voltages. An impedance of 0 needs no case of its own.
func (n *network) solve() {
	for i := len(n.parent) - 1; i >= 0; i-- {
		n.on[i] = 1 / (1 + n.admits[i]*n.passes[i])
		if p := n.parent[i]; p != otherWire {
			n.admits[p] += n.admits[i] * n.on[i]
			n.pushes[p] += n.pushes[i] * n.on[i]
		}
	}
	for i, p := range n.parent {
		n.volts[i] = n.pushes[i] * n.passes[i]
		if p != otherWire {
			n.volts[i] += n.volts[p]
		}
		n.volts[i] *= n.on[i]
	}
}

// across is the voltage between somebody's clips, peak to peak.
func (n *network) across(who int) float64 {
	hot, other := n.port(who)
	v := n.volts[hot]
	if other != otherWire {
		v -= n.volts[other]
	}
	return cmplx.Abs(v)
}
