package replay

import (
	"bytes"

	"looptone/frame"
	"looptone/frame/payload"
)

// History are the device status bits that tell what has happened to a device before,
// and not what it answers. They are named where they are not the same, and are no
// difference.
const History = frame.ColdStart | frame.ConfigurationChanged | frame.MoreStatusAvailable

// Part is a part of a reply.
type Part uint8

const (
	Responder    Part = iota + 1 // the address
	BurstMode                    // whether the device says that it publishes
	Response                     // the first status byte
	DeviceStatus                 // the second one
	Data                         // the bytes, where they are not compared by fields
	Value                        // of a field in the data
)

// A Difference is something in a reply that is not as it was recorded: the part Part of
// [Comparison.Was] and [Comparison.Is], or of a field the value Was and now Is, nil
// where one of them does not have it.
type Difference struct {
	Part    Part
	Was, Is *payload.Value
}

// A comparer compares replies, in the same memory again and again.
type comparer struct {
	found   []Difference
	was, is []payload.Value
}

// compare finds what is not the same in two replies; history is which of the bits of
// History. What it gives is valid until the next call.
func (c *comparer) compare(t *Transaction, is *frame.Frame, fields bool) (found []Difference, history frame.DeviceStatus) {
	was := &t.Reply
	c.found = c.found[:0]
	c.note(Responder, was.Address != is.Address)
	c.note(BurstMode, was.Burst != is.Burst)
	c.note(Response, was.Status.Response != is.Status.Response)
	changed := was.Status.Device ^ is.Status.Device
	c.note(DeviceStatus, changed&^History != 0)
	if !fields || !c.compareFields(t, is) {
		c.note(Data, !bytes.Equal(was.Data, is.Data))
	}
	return c.found, changed & History
}

func (c *comparer) note(p Part, different bool) {
	if different {
		c.found = append(c.found, Difference{Part: p})
	}
}

// compareFields compares the data by the values of their fields; ok is false where one
// of them cannot be read as such.
func (c *comparer) compareFields(t *Transaction, is *frame.Frame) (ok bool) {
	if t.Definition == nil || !executed(&t.Reply) || !executed(is) {
		return false
	}
	was := t.Definition.Decode(c.was[:0], frame.ACK, t.Reply.Payload(), t.Revision)
	now := t.Definition.Decode(c.is[:0], frame.ACK, is.Payload(), was.Revision)
	c.was, c.is = was.Values, now.Values
	if len(c.was) == 0 && len(t.Reply.Data) > 0 || len(c.is) == 0 && len(is.Data) > 0 {
		return false
	}
	for i := range c.was {
		v := &c.was[i]
		if w := find(c.is, v); w == nil || !same(v, w) {
			c.found = append(c.found, Difference{Value, v, w})
		}
	}
	for i := range c.is {
		if w := &c.is[i]; find(c.was, w) == nil {
			c.found = append(c.found, Difference{Value, nil, w})
		}
	}
	return true
}

// executed reports whether a reply has data to read.
func executed(f *frame.Frame) bool {
	code, ok := f.Status.Response.Code()
	return ok && payload.Executed(code)
}

// find finds the value of the same field.
func find(values []payload.Value, v *payload.Value) *payload.Value {
	for i := range values {
		if w := &values[i]; w.Field.Name == v.Field.Name && w.Slot == v.Slot {
			return w
		}
	}
	return nil
}

// same reports whether two values of a field mean the same.
func same(v, w *payload.Value) bool {
	switch {
	case v.HasUnit != w.HasUnit || v.Unit != w.Unit || v.Incomplete != w.Incomplete:
		return false
	case bytes.Equal(v.Raw, w.Raw):
		return true
	}
	x, ok := v.Number()
	if y, too := w.Number(); ok && too {
		return x == y
	}
	a, ok := v.AppendText(nil)
	b, too := w.AppendText(nil)
	return ok && too && bytes.Equal(a, b)
}
