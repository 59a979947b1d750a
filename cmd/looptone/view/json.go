package view

import (
	"errors"
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

// JSON writes messages as JSON lines. It keeps what it has written of commands,
// fields and units, which come again and again. The zero JSON is ready.
type JSON struct {
	commands memo[*payload.Definition] // `,"name":"read primary variable"`
	fields   memo[*payload.Field]      // `{"name":"primary variable"`
	units    [256]string               // `,"unit":"kPa","unit_code":12`, without a class
}

// Append writes a message as one object. place may be nil.
func (j *JSON) Append(dst []byte, m *exchange.Message, place *Position) []byte {
	event := events[m.Outcome]
	if m.Unanswered > 0 {
		event = `,"event":"unanswered","stream":`
	}
	o := j.begin(dst, event, m, place)
	switch {
	case m.Unanswered > 0:
		o.unanswered(m)
	case m.Outcome == frame.Whole:
		o.frame(m)
	default:
		o.trouble(m)
	}
	return append(o.b, '}')
}

// AppendTorn writes a message of characters of which nobody can tell what they
// were, because the capture has lost others beside them.
func (j *JSON) AppendTorn(dst []byte, m *exchange.Message, place *Position) []byte {
	o := j.begin(dst, `,"event":"torn","stream":`, m, place)
	o.hex(`"bytes":`, m.Raw)
	return append(o.b, '}')
}

// begin writes what every object begins with.
func (j *JSON) begin(dst []byte, event string, m *exchange.Message, place *Position) object {
	o := object{b: dst, known: j}
	o.stands(event, m.Number, m.Stream, m.Start, m.Preambles)
	o.when(&m.Span)
	o.where(place)
	return o
}

func (o *object) stands(event string, number, stream int, start int64, preambles int) {
	o.say(`{"n":`)
	o.number(int64(number))
	o.say(event)
	o.number(int64(stream))
	o.say(`,"start":`)
	o.number(start)
	o.say(`,"preambles":`)
	o.number(int64(preambles))
}

func (o *object) when(at *exchange.Span) {
	if !at.Known {
		return
	}
	o.seconds(`"time":`, at.Start)
	if clock, known := at.Clock(); known {
		o.say(`,"at":"`)
		o.b = clock.Round(time.Microsecond).AppendFormat(o.b, time.RFC3339Nano)
		o.say(`"`)
	}
}

func (o *object) where(place *Position) {
	if place == nil {
		return
	}
	o.open(`"place":`)
	o.text(`"file":`, place.File)
	o.int(`"line":`, place.Line)
	o.int(`"column":`, place.Column)
	o.close()
}

var events = [...]string{
	frame.Whole:   `,"event":"frame","stream":`,
	frame.Damaged: `,"event":"damage","stream":`,
	frame.Noise:   `,"event":"noise","stream":`,
}

var kinds = [...]string{
	frame.STX:  `,"kind":"STX"`,
	frame.ACK:  `,"kind":"ACK"`,
	frame.BACK: `,"kind":"BACK"`,
}

func (o *object) frame(m *exchange.Message) {
	f := &m.Frame
	o.hex(`"frame":`, m.Raw)
	digits := len(o.b) - 1 - 2*len(m.Raw) // where those of the frame begin
	o.say(kinds[f.Kind])
	o.addressOf(f)
	o.say(masters[seat(f.Primary)][seat(f.Burst)])
	o.commandNumber(m)
	if f.Kind.FromSlave() {
		o.status(m)
	}
	o.say(`,"data":"`)
	data := digits + 2*(len(m.Raw)-1-len(f.Data)) // in front of the check byte
	o.b = append(o.b, o.b[data:data+2*len(f.Data)]...)
	o.say(`"`)
	o.values(m)
	if m.ReplyTo > 0 {
		o.int(`"reply_to":`, int64(m.ReplyTo))
	}
	if m.Response.Known {
		o.seconds(`"response_time":`, m.Response.Time)
		if uncertain(m.Response) {
			o.seconds(`"response_time_uncertainty":`, m.Response.Uncertainty)
		}
	}
	if m.RetryOf > 0 {
		o.int(`"retry_of":`, int64(m.RetryOf))
	}
	if m.Rival != nil {
		o.say(`,"rival":"`)
		o.b, _ = m.Rival.Unique.AppendText(o.b)
		o.say(`"`)
	}
}

// unanswered is what is known of a request that stayed without a reply.
func (o *object) unanswered(m *exchange.Message) {
	o.int(`"request":`, int64(m.Unanswered))
	if m.Waited.Known {
		o.seconds(`"waited":`, m.Waited.Time)
	}
	if m.Damage > 0 {
		o.int(`"damage":`, int64(m.Damage))
	}
	o.address(&m.Frame)
	o.command(m)
}

// masters says who is asked or answered, the secondary or the primary master, and
// whether the device bursts.
var masters = [2][2]string{
	{`,"master":"secondary","burst_mode":false,"command":`, `,"master":"secondary","burst_mode":true,"command":`},
	{`,"master":"primary","burst_mode":false,"command":`, `,"master":"primary","burst_mode":true,"command":`},
}

func seat(is bool) int {
	if is {
		return 1
	}
	return 0
}

func (o *object) command(m *exchange.Message) {
	o.say(`,"command":`)
	o.commandNumber(m)
}

func (o *object) commandNumber(m *exchange.Message) {
	o.number(int64(m.Frame.Number()))
	if m.Definition == nil {
		return
	}
	name, ok := o.known.commands.get(m.Definition, int(m.Definition.Command))
	if !ok {
		name = o.fragment(func(f *object) { f.say(`,"name":`); f.string(m.Definition.Name) })
		o.known.commands.put(m.Definition, int(m.Definition.Command), name)
	}
	o.say(name)
}

// fragment is something that is written once and kept.
func (o *object) fragment(write func(f *object)) string {
	var f object
	write(&f)
	return string(f.b)
}

// address is the address with the master's part of it.
func (o *object) address(f *frame.Frame) {
	o.addressOf(f)
	if f.Primary {
		o.say(`,"master":"primary"`)
	} else {
		o.say(`,"master":"secondary"`)
	}
}

func (o *object) addressOf(f *frame.Frame) {
	if n, ok := f.Address.IsPolling(); ok {
		o.say(`,"address":{"polling":`)
		o.number(int64(n))
	} else {
		o.say(`,"address":{"unique":"`)
		o.b, _ = f.Address.AppendText(o.b)
		o.say(`"`)
		if f.Address.IsBroadcast() {
			o.say(`,"broadcast":true`)
		}
	}
	o.close()
}

func masterName(primary bool) string {
	if primary {
		return "primary"
	}
	return "secondary"
}

func (o *object) status(m *exchange.Message) {
	var names [8]string
	code, ok := m.Frame.Status.Response.Code()
	switch text := m.Definition.ResponseText(code & 0x7f); {
	case !ok:
		errs, _ := m.Frame.Status.Response.Errors()
		o.open(`"response":`)
		o.texts(`"communication_errors":`, errs.AppendNames(names[:0]))
		o.close()
	case code == 0 && text == "success":
		o.say(`,"response":{"code":0,"text":"success"}`)
	default:
		o.say(`,"response":{"code":`)
		o.number(int64(code))
		o.text(`"text":`, text)
		o.close()
	}
	if m.Frame.Status.Device == 0 {
		o.say(`,"device_status":[]`)
		return
	}
	o.texts(`"device_status":`, m.Frame.Status.Device.AppendNames(names[:0]))
}

func (o *object) values(m *exchange.Message) {
	o.say(`,"values":[`)
	for i := range m.Reading.Values {
		if i > 0 {
			o.say(",")
		}
		o.value(&m.Reading.Values[i])
	}
	o.say("]")
	if len(m.Reading.Values) == 0 {
		return
	}
	o.say(`,"revision":`)
	o.number(int64(m.Reading.Revision))
	if m.Reading.Basis == payload.Assumed {
		o.say(`,"revision_assumed":true`)
	} else {
		o.say(`,"revision_assumed":false`)
	}
}

func (o *object) value(v *payload.Value) {
	o.field(v.Field, v.At)
	if v.Slot >= 0 {
		o.int(`"slot":`, int64(v.Slot))
	}
	o.say(`,"value":`)
	o.content(v)
	o.unit(v)
	if v.Field.Type == payload.Flags && !v.Incomplete {
		var names [32]string
		o.texts(`"text":`, v.AppendNames(names[:0]))
	} else if meaning := v.Meaning(); meaning != "" {
		o.text(`"text":`, meaning)
	}
	o.close()
}

// field begins the value at an offset with its name.
func (o *object) field(f *payload.Field, at int) {
	begin, ok := o.known.fields.get(f, at+len(f.Name)<<2)
	if !ok {
		begin = o.fragment(func(x *object) { x.say(`{"name":`); x.string(f.Name) })
		o.known.fields.put(f, at+len(f.Name)<<2, begin)
	}
	o.say(begin)
}

// unit is the unit of a value, and its code; a unit that stands alone has the
// code for a value.
func (o *object) unit(v *payload.Value) {
	switch known := &o.known.units[v.Unit]; {
	case !v.HasUnit:
	case v.Field.Type == payload.UnitCode || v.Class != 0:
		o.text(`"unit":`, v.UnitSymbol())
		if v.Field.Type != payload.UnitCode {
			o.int(`"unit_code":`, int64(v.Unit))
		}
	default:
		if *known == "" {
			*known = o.fragment(func(f *object) {
				f.say(`,"unit":`)
				f.string(v.UnitSymbol())
				f.say(`,"unit_code":`)
				f.number(int64(v.Unit))
			})
		}
		o.say(*known)
	}
}

// content is a value as a number or text; null, and its bytes, where it is
// neither.
func (o *object) content(v *payload.Value) {
	var ok bool
	if o.b, ok = v.AppendNumber(o.b); ok {
		return
	}
	start := len(o.b)
	o.b = append(o.b, '"')
	if o.b, ok = v.AppendText(o.b); ok {
		o.endString(start)
		return
	}
	o.b = append(o.b[:start], "null"...)
	o.hex(`"raw":`, v.Raw)
}

// trouble is what is known of damage and noise.
func (o *object) trouble(m *exchange.Message) {
	o.hex(`"bytes":`, m.Raw)
	if m.AlsoHeard > 0 {
		o.int(`"also_heard":`, int64(m.AlsoHeard))
	}
	fault, ok := m.Err.(*frame.FaultError)
	if !ok {
		return
	}
	if m.Outcome == frame.Damaged && fault.Field > frame.FieldDelimiter {
		o.plain(`"kind":`, m.Frame.Kind.String())
	}
	if m.Outcome == frame.Damaged && fault.Field > frame.FieldAddress {
		o.address(&m.Frame)
	}
	if m.Outcome == frame.Damaged && fault.Field > frame.FieldCommand {
		o.int(`"command":`, int64(m.Frame.Number()))
	}
	o.open(`"error":`)
	o.plain(`"field":`, fault.Field.String())
	o.int(`"offset":`, fault.At)
	if fault.Compared {
		o.hex(`"got":`, []byte{fault.Got})
		o.hex(`"want":`, []byte{fault.Want})
	}
	o.text(`"text":`, faultText(fault.Err))
	o.close()
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
