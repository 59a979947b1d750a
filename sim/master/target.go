package master

import (
	"slices"

	"looptone/frame"
)

// A Target is a device that is to be asked: by its tag or long tag, its unique
// address, or its polling address. Exactly one of the three counts.
type Target struct {
	Tag     string
	Address frame.Address // polling or unique; where Tag is empty
}

// String is the tag, or the address.
func (t Target) String() string {
	if t.Tag != "" {
		return t.Tag
	}
	return t.Address.String()
}

// polled is a device that is asked again and again.
type polled struct {
	target   Target
	name     string
	who      Transaction   // that asks who it is
	known    bool          // it has said who it is
	missing  bool          // it was looked for in vain
	address  frame.Address // unique, when it is known
	wants    int           // preambles in requests
	tally    counter       // of all its commands
	commands []*counter    // what it is asked who it is with, and the others in the order of the schedule
}

func newPolled(t Target) *polled {
	who := Find{Address: t.Address, Tag: t.Tag}
	d := &polled{target: t, name: t.String(), who: who.transaction()}
	d.tally.tally = Tally{Name: d.name, Command: wholeDevice}
	d.tallyOf(d.who.Command)
	return d
}

// tallies reports whether c is the count of one of its commands.
func (d *polled) tallies(c *counter) bool { return c != nil && slices.Contains(d.commands, c) }

// tallyOf is the count of one of its commands.
func (d *polled) tallyOf(command uint16) *counter {
	for _, c := range d.commands {
		if c.tally.Command == int(command) {
			return c
		}
	}
	c := &counter{tally: Tally{Name: d.name, Command: int(command)}}
	d.commands = append(d.commands, c)
	return c
}

// take takes over who the device says it is; ok is false where it does not.
func (d *polled) take(t *Transaction) (ok bool) {
	var f Found
	if !f.take(t) {
		return false
	}
	d.known, d.missing = true, false
	d.address, d.wants = f.Unique, Preambles(f.Preambles)
	if _, polling := d.target.Address.IsPolling(); d.target.Tag == "" && !polling {
		d.address = d.target.Address
	}
	return true
}

// lose forgets who the device is: it may have been replaced.
func (d *polled) lose() { d.known, d.missing = false, true }
