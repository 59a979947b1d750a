package view

import (
	"errors"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// Position is a place in a file: line and column, both from 1; or in a file of packets
// the packet, from 1, and a byte's offset in its data; or where Sampled a sample, from 0.
type Position struct {
	File         string
	Line, Column int64
	Packet, Byte int64
	Sampled      bool
	Sample       int64
}

// JSON writes messages as JSON lines. It keeps what it has written of headings,
// fields and units, which come again and again, and of numbers. The zero JSON is
// ready.
type JSON struct {
	headings memo[heading]        // `},"master":"primary" … "device_status":[],"data":"`
	fields   memo[*payload.Field] // `{"name":"primary variable","value":`
	units    [256]string          // `,"unit":"kPa","unit_code":12`, without a class
	messages counter              // their numbers
	requests counter              // the numbers of those that were answered
	starts   counter              // where messages start
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
	o.b = o.known.messages.append(o.b, int64(number))
	o.say(event)
	o.number(int64(stream))
	o.say(`,"start":`)
	o.b = o.known.starts.append(o.b, start)
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
	switch {
	case place.Sampled:
		o.int(`"sample":`, place.Sample)
	case place.Packet > 0:
		o.int(`"packet":`, place.Packet)
		o.int(`"byte":`, place.Byte)
	default:
		o.int(`"line":`, place.Line)
		o.int(`"column":`, place.Column)
	}
	o.close()
}

var events = [...]string{
	frame.Whole:   `,"event":"frame","stream":`,
	frame.Damaged: `,"event":"damage","stream":`,
	frame.Noise:   `,"event":"noise","stream":`,
}

// kinds are the type of a frame, up to its address, which is a polling or a unique one.
var kinds = [...][2]string{
	frame.STX:  {`,"kind":"STX","address":{"polling":`, `,"kind":"STX","address":{"unique":"`},
	frame.ACK:  {`,"kind":"ACK","address":{"polling":`, `,"kind":"ACK","address":{"unique":"`},
	frame.BACK: {`,"kind":"BACK","address":{"polling":`, `,"kind":"BACK","address":{"unique":"`},
}

func (o *object) frame(m *exchange.Message) {
	f := &m.Frame
	o.hex(`"frame":`, m.Raw)
	digits := len(o.b) - 1 - 2*len(m.Raw) // where those of the frame begin
	if n, ok := f.Address.IsPolling(); ok {
		o.say(kinds[f.Kind][0])
		o.number(int64(n))
	} else {
		o.say(kinds[f.Kind][1])
		o.unique(m.Raw[1], digits+2)
		if f.Address.IsBroadcast() {
			o.say(`,"broadcast":true`)
		}
	}
	o.heading(m)
	data := digits + 2*(len(m.Raw)-1-len(f.Data)) // in front of the check byte
	o.b = append(append(o.b, o.b[data:data+2*len(f.Data)]...), '"')
	o.values(m)
	if m.ReplyTo > 0 {
		o.say(`,"reply_to":`)
		o.b = o.known.requests.append(o.b, int64(m.ReplyTo))
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

// unique writes the unique address whose digits stand at a place already, but for
// the two flag bits in its first byte.
func (o *object) unique(first byte, at int) {
	o.b = append(o.b, '0'+first>>4&3)
	o.b = append(o.b, o.b[at+1:at+10]...)
	o.b = append(o.b, '"')
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

func (o *object) command(m *exchange.Message) {
	o.int(`"command":`, int64(m.Frame.Number()))
	if m.Definition != nil {
		o.text(`"name":`, m.Definition.Name)
	}
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
	o.master(f.Primary)
}

// master says who is asked or answered.
func (o *object) master(primary bool) { o.plain(`"master":`, masterName(primary)) }

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
	o.open(`"response":`)
	if ok {
		o.int(`"code":`, int64(code))
		o.text(`"text":`, m.Definition.ResponseText(code))
	} else {
		errs, _ := m.Frame.Status.Response.Errors()
		o.texts(`"communication_errors":`, errs.AppendNames(names[:0]))
	}
	o.close()
	o.texts(`"device_status":`, m.Frame.Status.Device.AppendNames(names[:0]))
}

func (o *object) values(m *exchange.Message) {
	if len(m.Reading.Values) == 0 {
		o.say(`,"values":[]`)
		return
	}
	o.say(`,"values":[`)
	for i := range m.Reading.Values {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.value(&m.Reading.Values[i], 9*int(m.Definition.Command)+i)
	}
	o.say(`],"revision":`)
	o.number(int64(m.Reading.Revision))
	if m.Reading.Basis == payload.Assumed {
		o.say(`,"revision_assumed":true`)
	} else {
		o.say(`,"revision_assumed":false`)
	}
}

// value writes a value; number mostly differs where fields do.
func (o *object) value(v *payload.Value, number int) {
	o.begin(v, number)
	isNumber := o.content(v)
	o.unit(v)
	switch {
	case v.Field.Type == payload.Float && isNumber: // which says everything
	case v.Field.Type == payload.Flags && !v.Incomplete:
		var names [32]string
		o.texts(`"text":`, v.AppendNames(names[:0]))
	default:
		if meaning := v.Meaning(); meaning != "" {
			o.text(`"text":`, meaning)
		}
	}
	o.close()
}

// begin begins a value up to its content.
func (o *object) begin(v *payload.Value, number int) {
	f := v.Field
	begin, ok := o.known.fields.get(f, number)
	if !ok {
		begin = o.fragment(func(x *object) { x.say(`{"name":`); x.string(f.Name); x.say(isValue) })
		o.known.fields.put(f, number, begin)
	}
	if v.Slot < 0 {
		o.say(begin)
		return
	}
	o.say(begin[:len(begin)-len(isValue)])
	o.int(`"slot":`, int64(v.Slot))
	o.say(isValue)
}

const isValue = `,"value":`

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
// neither. It tells whether it was a number.
func (o *object) content(v *payload.Value) (number bool) {
	var ok bool
	if o.b, ok = v.AppendNumber(o.b); ok {
		return true
	}
	start := len(o.b)
	o.b = append(o.b, '"')
	if o.b, ok = v.AppendText(o.b); ok {
		o.endString(start)
		return false
	}
	o.b = append(o.b[:start], "null"...)
	o.hex(`"raw":`, v.Raw)
	return false
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
