package exchange

import (
	"cmp"
	"slices"

	"looptone/frame/payload"
)

// CommandTally is what was counted of a command.
type CommandTally struct {
	Counts
	Command    uint16
	Definition *payload.Definition // nil where nothing is known of the command
}

// commands counts by command. There are no more than 65,536.
type commands struct {
	short    [256]*CommandTally
	extended map[uint16]*CommandTally
}

func (cs *commands) add(m *Message) {
	number := m.Frame.Number()
	var c *CommandTally
	if number < uint16(len(cs.short)) {
		c = cs.short[number]
	} else {
		c = cs.extended[number]
	}
	if c == nil {
		c = cs.begin(number)
	}
	c.Definition = m.Definition
	c.Counts.add(m)
}

func (cs *commands) begin(number uint16) *CommandTally {
	c := &CommandTally{Command: number}
	if number < uint16(len(cs.short)) {
		cs.short[number] = c
		return c
	}
	if cs.extended == nil {
		cs.extended = map[uint16]*CommandTally{}
	}
	cs.extended[number] = c
	return c
}

func (cs *commands) list() (all []CommandTally) {
	for _, c := range cs.short {
		if c != nil {
			all = append(all, *c)
		}
	}
	for _, c := range cs.extended {
		all = append(all, *c)
	}
	slices.SortFunc(all, func(a, b CommandTally) int { return cmp.Compare(a.Command, b.Command) })
	return all
}
