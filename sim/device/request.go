package device

import (
	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim"
)

// request is what a device was asked.
type request struct {
	now     sim.Tick // its end
	primary bool
	command uint16
	sent    []byte // without what goes beyond the layout
	data    []byte // the same; a command that writes sends them back, changed to what it did
	values  []payload.Value
	wrote   bool // it was a write that was carried out
}

// take takes over a request frame that has the given layout.
func (r *request) take(now sim.Tick, f *frame.Frame, def *payload.Definition, l *payload.Layout, revision uint8) {
	r.now, r.primary, r.command = now, f.Primary, f.Number()
	data := f.Payload()
	r.sent = append(r.sent[:0], data[:min(len(data), l.MaxLen())]...)
	r.data = append(r.data[:0], r.sent...)
	r.values = r.values[:0]
	if def.Write {
		r.values = def.Decode(r.values, frame.STX, r.data, revision).Values
	}
}

func (r *request) value(name string) *payload.Value {
	for i := range r.values {
		if v := &r.values[i]; v.Field.Name == name {
			return v
		}
	}
	return nil
}

// number is a number of the request; ok is false where it is not finite.
func (r *request) number(name string) (x float64, ok bool) {
	v := r.value(name)
	if v == nil {
		return 0, false
	}
	return v.Number()
}

// whole is a whole number of the request.
func (r *request) whole(name string) uint32 {
	x, _ := r.number(name)
	return uint32(x)
}

// text is a text or a date of the request; ok is false for a day that does not
// exist.
func (r *request) text(name string) (s string, ok bool) {
	v := r.value(name)
	if v == nil {
		return "", false
	}
	b, ok := v.AppendText(nil)
	return string(b), ok
}

// unitOf is the unit that stands beside a number.
func (r *request) unitOf(name string) unit.Code {
	if v := r.value(name); v != nil {
		return v.Unit
	}
	return unit.NotUsed
}
