package view

import (
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// A heading is what stands in a frame between its address and its data, if the
// command is known. It depends on the delimiter, the two bits beside the address and
// the two status bytes, which are one number as it is compared quicker.
type heading struct {
	*payload.Definition
	form uint32
}

func headingOf(m *exchange.Message) heading {
	status := m.Frame.Status
	return heading{m.Definition, uint32(m.Raw[0])<<24 | uint32(m.Raw[1]&0xc0)<<16 |
		uint32(status.Response)<<8 | uint32(status.Device)}
}

// number mostly differs where headings do.
func (h *heading) number() int {
	return int(h.Command) ^ int(h.form>>23) ^ int(h.form>>6) ^ int(h.form)
}

func (o *object) heading(m *exchange.Message) {
	if m.Definition == nil {
		o.appendHeading(m)
		return
	}
	h := headingOf(m)
	text, ok := o.known.headings.get(h, h.number())
	if !ok {
		text = o.fragment(func(x *object) { x.appendHeading(m) })
		o.known.headings.put(h, h.number(), text)
	}
	o.say(text)
}

// appendHeading writes a heading, from the end of the address on up to the digits of
// the data.
func (o *object) appendHeading(m *exchange.Message) {
	o.close()
	o.master(m.Frame.Primary)
	o.bool(`"burst_mode":`, m.Frame.Burst)
	o.command(m)
	if m.Frame.Kind.FromSlave() {
		o.status(m)
	}
	o.say(`,"data":"`)
}
