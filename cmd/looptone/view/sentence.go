package view

import (
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// Sentence says in one line what a message says, for instance
// "LT-103 (3) → primary  24.91 kPa".
func Sentence(m *exchange.Message) string { return string(AppendSentence(nil, m)) }

// AppendSentence writes what [Sentence] says to dst.
func AppendSentence(dst []byte, m *exchange.Message) []byte {
	p := prose{dst}
	switch f := &m.Frame; {
	case m.Unanswered > 0:
		p.unanswered(m)
	case m.Outcome != frame.Whole:
		p.trouble(m)
	case f.Kind == frame.STX:
		p.say(masterName(f.Primary), " → ")
		p.device(m)
		p.say("  ")
		p.command(m)
		p.contents(m)
		p.retry(m)
	case f.Kind == frame.BACK:
		p.device(m)
		p.say(" → all  burst, ")
		p.command(m)
		p.answer(m)
	default:
		p.device(m)
		p.say(" → ", masterName(f.Primary))
		p.reply(m)
	}
	return p.b
}

// unanswered says that a request stayed without a reply.
func (p *prose) unanswered(m *exchange.Message) {
	p.device(m)
	p.say(" does not answer ", masterName(m.Frame.Primary), "  ")
	p.command(m)
	if m.Damage > 0 {
		p.say("  (damage was heard instead)")
	}
	if m.Waited.Known {
		p.say("  within ")
		p.milliseconds(m.Waited.Time)
	}
}

func (p *prose) retry(m *exchange.Message) {
	if m.RetryOf > 0 {
		p.say("  (again)")
	}
}

// reply is what a reply says, and what it says about the conversation.
func (p *prose) reply(m *exchange.Message) {
	p.answer(m)
	if m.Response.Known {
		p.say("  after ")
		p.milliseconds(m.Response.Time)
		if uncertain(m.Response) {
			p.say(" ± ")
			p.milliseconds(m.Response.Uncertainty)
		}
	}
	if m.Unasked() && m.Number > 1 { // in front of the first message nobody listened
		p.say("  (nobody asked)")
	}
	if m.Rival != nil {
		p.say("  (", m.Rival.String(), " has answered at this polling address too)")
	}
}

// uncertain reports whether a time is wrong by more than it is told to.
func uncertain(e exchange.Elapsed) bool { return e.Uncertainty > time.Millisecond }

func (p *prose) milliseconds(d time.Duration) {
	p.int(d.Round(time.Millisecond).Milliseconds())
	p.say(" ms")
}

func (p *prose) device(m *exchange.Message) {
	switch n, ok := m.Frame.Address.IsPolling(); {
	case m.Device != nil:
		p.b = m.Device.Append(p.b)
	case ok:
		p.say("polling address ")
		p.int(int64(n))
	case m.Frame.Address.IsBroadcast():
		p.say("all")
	default:
		p.b, _ = m.Frame.Address.AppendText(p.b)
	}
}

func (p *prose) command(m *exchange.Message) {
	if m.Definition != nil {
		p.say(m.Definition.Name)
		return
	}
	p.say("command ")
	p.int(int64(m.Frame.Number()))
}

// answer is what a reply says: its values, or why there are none.
func (p *prose) answer(m *exchange.Message) {
	f := &m.Frame
	start := len(p.b)
	if errs, ok := f.Status.Response.Errors(); ok {
		p.say("  ", heardErrors(errs))
	} else if code, _ := f.Status.Response.Code(); code != 0 {
		p.say("  ")
		p.response(m.Definition, code)
	}
	if m.Reading.Basis == payload.Told && m.Device != nil {
		p.introduction(m)
	} else {
		p.contents(m)
	}
	if len(p.b) == start {
		p.say("  done")
	}
	if assumed(m) {
		p.say("  (revision ")
		p.int(int64(m.Reading.Revision))
		p.say(" assumed)")
	}
	if f.Status.Device != 0 {
		var names [8]string
		p.say("  [")
		p.list(f.Status.Device.AppendNames(names[:0]), ", ")
		p.say("]")
	}
}

// assumed reports whether a reply is read by the layout of a revision that the
// device has not told, where another one may have another layout.
func assumed(m *exchange.Message) bool {
	return m.Reading.Basis == payload.Assumed && len(m.Reading.Values) > 0 &&
		m.Frame.Kind.FromSlave() && len(m.Definition.Reply) > 1
}

// response is the meaning of a response code with its number.
func (p *prose) response(d *payload.Definition, code uint8) {
	text := d.ResponseText(code)
	start := len(p.b)
	p.say("response code ")
	p.int(int64(code))
	if number := string(p.b[start:]); text != number {
		p.b = p.b[:start]
		p.say(text, " (", number, ")")
	}
}

// heardErrors says that a device could not read its request, and why.
func heardErrors(errs frame.Faults) string {
	var p prose
	p.say("heard the request with errors: ")
	if p.list(errs.Names(), ", "); errs == 0 {
		p.say("it does not say which")
	}
	return string(p.b)
}

// contents are the values of a message, or its bytes where nothing is known of
// them; nothing where there are none.
func (p *prose) contents(m *exchange.Message) {
	data, values := m.Frame.Payload(), m.Reading.Values
	switch {
	case len(values) > 0:
		p.say("  ")
		p.values(values)
	case len(data) > 0:
		p.say("  data ")
		p.hex(data)
	}
}

// introduction is what matters of the many values by which a device introduces
// itself.
func (p *prose) introduction(m *exchange.Message) {
	p.say("  introduces itself: unique address ")
	p.b, _ = m.Device.Unique.AppendText(p.b)
	p.say(", revision ")
	p.int(int64(m.Reading.Revision))
	for i := range m.Reading.Values {
		if v := &m.Reading.Values[i]; v.Field.Name == "request preambles" {
			p.say(", wants ")
			p.value(v)
			p.say(" preambles")
		}
	}
}

// values says what values are: one alone without its name.
func (p *prose) values(values []payload.Value) {
	for i := range values {
		v := &values[i]
		if i > 0 {
			p.say(", ")
		}
		if v.Slot >= 0 {
			p.say("slot ")
			p.int(int64(v.Slot))
			p.say(" ")
		}
		if len(values) > 1 || v.Slot >= 0 {
			p.say(v.Field.Name, " ")
		}
		p.value(v)
	}
}

// valueText is one value with its unit, or what it means.
func valueText(v *payload.Value) string {
	var p prose
	p.value(v)
	return string(p.b)
}

func (p *prose) value(v *payload.Value) {
	switch {
	case v.Field.Type == payload.UnitCode && v.HasUnit:
		p.say(v.UnitSymbol())
		return
	case v.Field.Type == payload.Flags && !v.Incomplete:
		p.flags(v)
		return
	case len(v.Raw) == 0: // the device says that there are no bytes
		p.say("none")
		return
	}
	var ok bool
	if p.b, ok = v.AppendNumber(p.b); ok {
		p.beside(v)
		return
	}
	if v.Field.Type == payload.Bytes && !v.Incomplete {
		p.hex(v.Raw)
		return
	}
	start := len(p.b)
	if p.b, ok = v.AppendText(p.b); ok {
		p.quote(start)
		return
	}
	p.hex(v.Raw)
	p.say(" (", v.Meaning(), ")")
}

func (p *prose) flags(v *payload.Value) {
	var room [32]string
	names := v.AppendNames(room[:0])
	if p.list(names, " and "); len(names) == 0 {
		p.say("none")
	}
}

// beside is what stands beside a number: its unit, or its meaning.
func (p *prose) beside(v *payload.Value) {
	if symbol := v.UnitSymbol(); symbol != "" {
		p.say(" ", symbol)
	} else if meaning := v.Meaning(); meaning != "" {
		p.say(" (", meaning, ")")
	}
}

// trouble says what damage or noise is.
func (p *prose) trouble(m *exchange.Message) {
	n := len(m.Raw)
	switch {
	case m.Outcome == frame.Damaged:
		p.say("damage: ", m.Err.Error(), ": ")
	case n == 0:
		p.int(int64(m.Preambles))
		p.say(" FF and nothing behind them")
		return
	case m.Err != nil:
		p.say("noise: ", m.Err.Error(), ": ")
	case n == 1:
		p.say("noise: 1 character: ")
	default:
		p.say("noise: ")
		p.int(int64(n))
		p.say(" characters: ")
	}
	p.hexStart(m.Raw)
}

// AppendTorn writes the sentence of a message of characters of which nobody can
// tell what they were, because the capture has lost others beside them.
func AppendTorn(dst []byte, m *exchange.Message) []byte {
	p := prose{dst}
	n := len(m.Raw) + m.Preambles
	if p.int(int64(n)); n == 1 {
		p.say(" character beside what the capture has lost")
	} else {
		p.say(" characters beside what the capture has lost")
	}
	if len(m.Raw) > 0 {
		p.say(": ")
		p.hexStart(m.Raw)
	}
	return p.b
}
