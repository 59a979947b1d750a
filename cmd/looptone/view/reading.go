package view

import (
	"bytes"

	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim/master"
)

// fared is how a request that has ended is called.
func fared(r *master.Reading) string {
	switch code, understood := r.Reply.Status.Response.Code(); {
	case r.Outcome == master.Silent:
		return "silent"
	case r.Outcome != master.Answered || !understood:
		return "damaged"
	case payload.Unfinished(code):
		return "busy"
	}
	return "answered"
}

// ReadingSentence says in one line what a poll has read; m is the reply, or the
// request as one that stayed unanswered. Of all devices it is the one of that name
// that does not answer when they are asked who has its tag.
func ReadingSentence(r *master.Reading, m *exchange.Message, device string) string {
	p := prose{AppendSentence(nil, m)}
	if m.Unanswered > 0 && m.Frame.Address.IsBroadcast() {
		p.b = append([]byte(device), bytes.TrimPrefix(p.b, []byte("all"))...)
	}
	if r.Try > 1 {
		p.say("  (try ")
		p.int(int64(r.Try))
		p.say(")")
	}
	return string(p.b)
}

// AppendReading writes what a poll has read as one object; m is as for
// [ReadingSentence], and device what the device is called.
func (j *JSON) AppendReading(dst []byte, r *master.Reading, m *exchange.Message, device string) []byte {
	o := object{b: append(dst, `{"event":"reading"`...), known: j}
	ended := m.Span
	ended.Start = r.Ended.Duration()
	o.when(&ended)
	o.text(`"device":`, device)
	o.addressOf(&m.Frame)
	o.command(m)
	o.int(`"try":`, int64(r.Try))
	o.plain(`"outcome":`, fared(r))
	if r.Outcome == master.Answered {
		o.status(m)
		o.hex(`"data":`, m.Frame.Data)
		o.values(m)
		o.seconds(`"response_time":`, r.ResponseTime.Duration())
	}
	return append(o.b, '}')
}
