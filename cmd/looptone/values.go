package main

import (
	"io"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/linefile"
	"looptone/sim/transmitter"
)

// A period of values, in line time.
const (
	usualPeriod    = "1s"
	shortestPeriod = 10 * time.Millisecond
	longestPeriod  = 24 * time.Hour
)

// volt is the unit of a voltage; [unit.Source] says where the codes come from.
const volt = unit.Code(58)

// A monitor is a station that says nothing and writes down, once a period, what
// stands behind every stage of every device; at time 0 with the units.
type monitor struct {
	out      io.Writer // must not block where the line is one in real time
	period   time.Duration
	assembly *linefile.Assembly
	next     time.Duration
	line     []byte
}

// monitor puts a monitor on the line, if values are wanted.
func (o *simOptions) monitor(a *linefile.Assembly, out io.Writer) {
	if o.values.span > 0 {
		a.Line.Join(&monitor{out: out, period: o.values.span, assembly: a})
	}
}

// Step writes at whole periods of line time, whatever else is going on: a
// transmitter's numbers do not depend on when they are asked for.
func (m *monitor) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if sim.Ticks(m.next) <= now {
		for i, d := range m.assembly.Devices {
			m.tell(now, i, d)
		}
		m.next += m.period
	}
	return nil, sim.Ticks(m.next)
}

// tell writes what stands behind the stages of a device, and on a line whose
// electricity is described the voltage across it.
func (m *monitor) tell(now sim.Tick, i int, d *device.Device) {
	t := d.Transmitter()
	t.To(now)
	outputs := t.Outputs()
	if v, ok := m.assembly.TerminalV(i); ok {
		outputs = append(outputs, transmitter.Output{Name: "terminal_v", Value: v, Unit: volt})
	}
	m.line = view.AppendOutputs(m.line[:0], m.next, d.Config().Tag, outputs, m.next == 0)
	m.line = append(m.line, '\n')
	m.out.Write(m.line)
}
