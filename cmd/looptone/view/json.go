package view

import (
	"encoding/hex"
	"encoding/json"
	"errors"
	"strconv"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// Position is a place in a file: line and column, both from 1.
type Position struct {
	File         string
	Line, Column int64
}

// AppendJSON writes a message as one JSON object. place may be nil.
func AppendJSON(dst []byte, m *exchange.Message, stream int, place *Position) []byte {
	o := object{append(dst, '{')}
	o.int("n", int64(m.Number))
	o.text("event", m.Outcome.String())
	o.int("stream", int64(stream))
	o.int("start", m.Start)
	o.int("preambles", int64(m.Preambles))
	if m.Span != nil {
		o.seconds("time", m.Span.Start)
	}
	if place != nil {
		o.key("place")
		p := object{append(o.b, '{')}
		p.text("file", place.File)
		p.int("line", place.Line)
		p.int("column", place.Column)
		o.b = append(p.b, '}')
	}
	if m.Outcome == frame.Whole {
		o.frame(m)
	} else {
		o.trouble(m)
	}
	return append(o.b, '}')
}

// An object is a JSON object that is being written.
type object struct{ b []byte }

func (o *object) key(name string) {
	if o.b[len(o.b)-1] != '{' {
		o.b = append(o.b, ',')
	}
	o.b = append(o.b, '"')
	o.b = append(o.b, name...)
	o.b = append(o.b, '"', ':')
}

func (o *object) int(name string, n int64) {
	o.key(name)
	o.b = strconv.AppendInt(o.b, n, 10)
}

// seconds writes d to the microsecond.
func (o *object) seconds(name string, d time.Duration) {
	o.key(name)
	o.b = strconv.AppendFloat(o.b, d.Round(time.Microsecond).Seconds(), 'f', -1, 64)
}

func (o *object) bool(name string, v bool) {
	o.key(name)
	o.b = strconv.AppendBool(o.b, v)
}

func (o *object) text(name, s string) {
	o.key(name)
	o.b = appendString(o.b, s)
}

func (o *object) hex(name string, b []byte) {
	o.key(name)
	o.b = append(o.b, '"')
	o.b = hex.AppendEncode(o.b, b)
	o.b = append(o.b, '"')
}

func (o *object) texts(name string, list []string) {
	o.key(name)
	o.b = append(o.b, '[')
	for i, s := range list {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.b = appendString(o.b, s)
	}
	o.b = append(o.b, ']')
}

func appendString(dst []byte, s string) []byte {
	for _, c := range []byte(s) {
		if c < ' ' || c >= 0x7f || c == '"' || c == '\\' {
			b, _ := json.Marshal(s) // a string has no error
			return append(dst, b...)
		}
	}
	dst = append(dst, '"')
	dst = append(dst, s...)
	return append(dst, '"')
}

func (o *object) frame(m *exchange.Message) {
	f := &m.Frame
	o.hex("frame", m.Raw)
	o.text("kind", f.Kind.String())
	o.address(f)
	o.bool("burst_mode", f.Burst)
	o.int("command", int64(f.Number()))
	if m.Definition != nil {
		o.text("name", m.Definition.Name)
	}
	if f.Kind.FromSlave() {
		o.status(m)
	}
	o.hex("data", f.Data)
	o.values(m)
	if m.ReplyTo > 0 {
		o.int("reply_to", int64(m.ReplyTo))
	}
	if m.Response != nil {
		o.seconds("response_time", *m.Response)
	}
}

// address says from whom to whom a frame is.
func (o *object) address(f *frame.Frame) {
	o.key("address")
	a := object{append(o.b, '{')}
	if n, ok := f.Address.IsPolling(); ok {
		a.int("polling", int64(n))
	} else {
		a.text("unique", f.Address.String())
		if f.Address.IsBroadcast() {
			a.bool("broadcast", true)
		}
	}
	o.b = append(a.b, '}')
	o.text("master", masterName(f.Primary))
}

func masterName(primary bool) string {
	if primary {
		return "primary"
	}
	return "secondary"
}

func (o *object) status(m *exchange.Message) {
	o.key("response")
	r := object{append(o.b, '{')}
	if errs, ok := m.Frame.Status.Response.Errors(); ok {
		r.texts("communication_errors", errs.Names())
	} else {
		code, _ := m.Frame.Status.Response.Code()
		r.int("code", int64(code))
		r.text("text", m.Definition.ResponseText(code))
	}
	o.b = append(r.b, '}')
	o.texts("device_status", m.Frame.Status.Device.Names())
}

func (o *object) values(m *exchange.Message) {
	o.key("values")
	o.b = append(o.b, '[')
	for i := range m.Reading.Values {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.value(&m.Reading.Values[i])
	}
	o.b = append(o.b, ']')
	if len(m.Reading.Values) > 0 {
		o.int("revision", int64(m.Reading.Revision))
		o.bool("revision_assumed", m.Reading.Basis == payload.Assumed)
	}
}

func (o *object) value(v *payload.Value) {
	e := object{append(o.b, '{')}
	e.text("name", v.Field.Name)
	if v.Slot >= 0 {
		e.int("slot", int64(v.Slot))
	}
	e.key("value")
	meaning := v.Meaning()
	var ok bool
	if e.b, ok = v.AppendNumber(e.b); !ok {
		if text, isText := v.AppendText(nil); isText {
			e.b = appendString(e.b, string(text))
		} else {
			e.b = append(e.b, "null"...)
			e.hex("raw", v.Raw)
		}
	}
	if v.HasUnit {
		e.text("unit", v.UnitSymbol())
		if v.Field.Type != payload.UnitCode {
			e.int("unit_code", int64(v.Unit))
		}
	}
	if v.Field.Type == payload.Flags && !v.Incomplete {
		e.texts("text", v.AppendNames(nil))
	} else if meaning != "" {
		e.text("text", meaning)
	}
	o.b = append(e.b, '}')
}

// trouble is what is known of damage and noise.
func (o *object) trouble(m *exchange.Message) {
	o.hex("bytes", m.Raw)
	var fault *frame.FaultError
	if !errors.As(m.Err, &fault) {
		return
	}
	if fault.Field > frame.FieldDelimiter { // what stands in front of the fault was read
		o.text("kind", m.Frame.Kind.String())
	}
	if fault.Field > frame.FieldAddress {
		o.address(&m.Frame)
	}
	if fault.Field > frame.FieldCommand {
		o.int("command", int64(m.Frame.Number()))
	}
	o.key("error")
	e := object{append(o.b, '{')}
	e.text("field", fault.Field.String())
	e.int("offset", fault.At)
	if fault.Compared {
		e.hex("got", []byte{fault.Got})
		e.hex("want", []byte{fault.Want})
	}
	e.text("text", faultText(fault.Err))
	o.b = append(e.b, '}')
}

// faultText is the fault in a few words.
func faultText(err error) string {
	switch {
	case errors.Is(err, frame.ErrParity):
		return "parity"
	case errors.Is(err, frame.ErrFraming):
		return "framing"
	case errors.Is(err, frame.ErrGap):
		return "gap"
	case errors.Is(err, frame.ErrCut):
		return "end of input"
	case errors.Is(err, frame.ErrCheckByte):
		return "check byte does not match"
	case errors.Is(err, frame.ErrByteCount):
		return "no room for the status bytes"
	case errors.Is(err, frame.ErrFrameType):
		return "unknown frame type"
	}
	return err.Error()
}
