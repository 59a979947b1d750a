package page

import (
	"fmt"
	"slices"
	"strings"

	"looptone/frame/payload"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

// masters are the masters of the page on a line: a primary and a secondary one. A
// simulated master that the line's description has steps aside for the one of its kind
// as soon as that is to do something: it leaves the line, and the other one takes its
// name, its clock and what it polls.
type masters struct {
	assembly *linefile.Assembly
	desks    [2]*desk // the primary one first
}

// retries is how often the masters of the page ask again where there is no answer.
//
// Source: common practice.
const retries = 3

func newMasters(a *linefile.Assembly) *masters {
	m := &masters{assembly: a}
	for i, primary := range [...]bool{true, false} {
		m.desks[i] = &desk{line: a.Line, primary: primary, heedless: true}
		for j := range a.Masters {
			if a.Masters[j].Master.Primary == primary {
				m.desks[i].host = &a.Masters[j]
			}
		}
	}
	return m
}

func (m *masters) desk(primary bool) *desk {
	if primary {
		return m.desks[0]
	}
	return m.desks[1]
}

func (m *masters) close() {
	for _, d := range m.desks {
		d.close()
	}
}

func (m *masters) scanning() bool {
	return slices.ContainsFunc(m.desks[:], func(d *desk) bool { return d.scan.goes() })
}

// sending is how many messages are under way, or wait.
func (m *masters) sending() (n int) {
	for _, d := range m.desks {
		for _, e := range d.sends {
			if e.goes() {
				n++
			}
		}
	}
	return n
}

// polls says what is polled, a sentence a master.
func (m *masters) polls() []string {
	said := []string{}
	for _, d := range m.desks {
		if queries := d.queries(); len(queries) > 0 {
			said = append(said, fmt.Sprintf("the %s polls %s", d.name(), m.queriesText(queries)))
		}
	}
	return said
}

// mostQueriesTold is how many queries a sentence names one by one.
const mostQueriesTold = 3

func (m *masters) queriesText(queries []master.Query) string {
	if all, ok := m.alike(queries); ok {
		return all
	}
	var parts []string
	for i := range queries {
		if i == mostQueriesTold {
			parts = append(parts, fmt.Sprintf("and %d more", len(queries)-i))
			break
		}
		q := &queries[i]
		parts = append(parts, fmt.Sprintf("%s for %s%s", m.nameOf(q.Device), commandText(q.Command), everyText(q)))
	}
	return strings.Join(parts, ", ")
}

// alike says of queries that ask all devices the same thing just that.
func (m *masters) alike(queries []master.Query) (text string, ok bool) {
	first := &queries[0]
	for i := range queries {
		if q := &queries[i]; q.Command != first.Command || q.Every != first.Every {
			return "", false
		}
	}
	n := len(m.assembly.Devices)
	if len(queries) != n || n == 1 {
		return "", false
	}
	return fmt.Sprintf("all %d devices for %s%s", n, commandText(first.Command), everyText(first)), true
}

func everyText(q *master.Query) string {
	if q.Every == 0 {
		return " whenever there is a turn"
	}
	return fmt.Sprintf(" every %g s", q.Every.Seconds())
}

// nameOf is how a device that is polled is called on this line.
func (m *masters) nameOf(t master.Target) string {
	if t.Tag != "" {
		return t.Tag
	}
	for _, d := range m.assembly.Devices {
		if d.Config().Unique() == t.Address {
			return d.Config().Tag
		}
	}
	return t.String()
}

// commandText is a command by what it is for.
func commandText(command uint16) string {
	def, ok := payload.Lookup(command)
	if !ok {
		return fmt.Sprintf("command %d", command)
	}
	return fmt.Sprintf("command %d (%s)", command, def.Name)
}
