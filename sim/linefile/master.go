package linefile

import (
	"encoding/hex"
	"fmt"
	"slices"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/userfile"
	"looptone/sim/device"
	"looptone/sim/master"
)

// A Master is a simulated master and what it asks.
type Master struct {
	Primary  bool
	Retries  int
	ClockPPM int32          // error of its clock: +1000 makes its bits 0.1 % longer
	Queries  []master.Query // by the tags of the devices
}

// How often a master asks again where there was no answer.
//
// Source: common practice.
const (
	usualRetries = 3
	mostRetries  = 10
)

// usualQuery is what a master asks all devices that is not told what to ask.
const usualQuery = 3 // dynamic variables and loop current

// readMaster reads a master that is simulated; before are the masters in front of
// it, and their lines.
func (d *Description) readMaster(t *userfile.Table, before map[bool]int) Master {
	t.Need("kind", `"primary"`)
	kind, ok := t.Choice("kind", "primary", "secondary")
	m := Master{Primary: kind == "primary", Retries: int(t.Whole("retries", 0, mostRetries, usualRetries)), ClockPPM: clock(t)}
	switch line, twice := before[m.Primary]; {
	case ok && twice:
		t.Refuse("kind", fmt.Errorf("there is a %s master in line %d already: a line has one of each kind; "+
			`two that take themselves for the primary one are a fault of kind "second primary master"`, kind, line))
	case ok:
		before[m.Primary] = t.Line("")
	}
	t.List("poll", "query", `{ device = "PT-101", command = 3, every = "2s" }`, func(t *userfile.Table) {
		m.Queries = append(m.Queries, d.query(t))
	})
	if len(m.Queries) == 0 {
		for _, tag := range d.tags() {
			m.Queries = append(m.Queries, master.Query{Device: master.Target{Tag: tag}, Command: usualQuery})
		}
	}
	return m
}

// query reads one line of a schedule.
func (d *Description) query(t *userfile.Table) master.Query {
	t.Need("device", `"PT-101"`)
	t.Need("command", "3")
	tag := tagOf(t, "device", d.tags())
	q := master.Query{Device: master.Target{Tag: tag}, Command: uint16(t.Whole("command", 0, 0xffff, 0)), Data: hexadecimal(t, "data")}
	every, given := span(t, "every")
	if q.Every = every; given && every == 0 {
		t.RefuseValue("every", `a time such as "2s"; left out, the command is asked as often as there are turns`)
	}
	if i := slices.Index(d.tags(), tag); i >= 0 && t.Sound() {
		checkData(t, &q, d.Devices[i].Revision)
		checkEvery(t, &q, &d.Devices[i])
	}
	return q
}

// hexadecimal reads bytes that are written as hexadecimal digits.
func hexadecimal(t *userfile.Table, key string) []byte {
	text, ok := t.Text(key)
	if !ok {
		return nil
	}
	data, err := hex.DecodeString(text)
	if err != nil {
		t.RefuseValue(key, `hexadecimal digits, two a byte, for instance "00ff"`)
	}
	return data
}

// checkData refuses data that no request carries, and too few of them. More than a
// command has are data of a newer revision.
func checkData(t *userfile.Table, q *master.Query, revision uint8) {
	request := frame.Frame{Kind: frame.STX, Address: frame.Broadcast}
	request.SetNumber(q.Command, q.Data)
	if _, err := request.AppendBinary(nil); err != nil {
		t.Refuse("data", fmt.Errorf("data of %d bytes do not fit into a request", len(q.Data)))
		return
	}
	def, ok := payload.Lookup(q.Command)
	if !ok {
		return
	}
	forms, err := def.Forms(frame.STX, revision)
	if err != nil || len(q.Data) >= forms[0].MinLen() {
		return
	}
	const digits = 2 // of a byte
	wants := digits * forms[0].MinLen()
	if !t.Has("data") {
		t.Refuse("command", fmt.Errorf("command %d (%s): got no data, want data of at least %d hexadecimal digits", q.Command, def.Name, wants))
		return
	}
	t.Refuse("data", fmt.Errorf("command %d (%s): got data of %d hexadecimal digits, want at least %d",
		q.Command, def.Name, digits*len(q.Data), wants))
}

// checkEvery refuses a period in which the device cannot answer.
func checkEvery(t *userfile.Table, q *master.Query, c *device.Config) {
	if q.Every == 0 {
		return
	}
	shortest := master.Shortest([]master.Query{*q}, int(max(c.Preambles, c.ReplyPreambles)), c.Latency)
	if q.Every < shortest.Sum() {
		t.Refuse("every", fmt.Errorf("every %v is shorter than one transaction: %v", q.Every.Duration(), shortest))
	}
}

// join puts a master on a line. It asks devices by the tags that they have there, and
// goes on whoever else asks there too: the line is described with it.
func (m *Master) join(a *Assembly) Host {
	h := Host{Poll: &master.Poll{Queries: slices.Clone(m.Queries), Retries: m.Retries}}
	for i := range h.Poll.Queries {
		q := &h.Poll.Queries[i]
		if own := a.Devices[a.place(q.Device.Tag)].Config().Memory.Tag; own != nil {
			q.Device.Tag = *own
		}
	}
	h.Master = master.New(master.Config{Primary: m.Primary, ClockPPM: m.ClockPPM, Heedless: true}, h.Poll.Run)
	h.Seat = a.Line.Join(h.Master)
	h.Seat.Name = "secondary master"
	if m.Primary {
		h.Seat.Name = "primary master"
	}
	return h
}
