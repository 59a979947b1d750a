package findings

import (
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// Response codes that tell of a host.
//
// Source: ABB Endura AZ manual IM/AZ20E-EN rev F, table 7.4.
const (
	tooFewData     = 5
	notImplemented = 64
)

// addReply judges what a reply, or a burst, tells of the host and of the device.
func (j *Judge) addReply(m *exchange.Message) {
	f := &m.Frame
	code, ok := f.Status.Response.Code()
	if !ok {
		return
	}
	if payload.Executed(code) {
		j.learn(m)
	}
	if m.ReplyTo <= 0 {
		return
	}
	h := j.host(f.Primary)
	switch {
	case code == notImplemented && m.Definition == nil:
		h.breach(UnknownCommand, whereOf(m), "%s does not know command %d, and no definition of it is known", name(m), f.Number())
	case code == notImplemented:
	case code == tooFewData:
		h.breach(TooFewData, whereOf(m), "%s misses data in the request of command %d", name(m), f.Number())
		h.keep(UnknownCommand)
	default:
		h.keep(UnknownCommand)
		if payload.Executed(code) {
			h.keep(TooFewData)
		}
	}
}

// mostDevices is of how many devices it is known how many preambles they want.
const mostDevices = 1024

// learn notes how many preambles a device wants that introduces itself.
func (j *Judge) learn(m *exchange.Message) {
	switch m.Frame.Number() {
	case 0, 11, 21:
	default:
		return
	}
	if m.Device == nil {
		return
	}
	for i := range m.Reading.Values {
		v := &m.Reading.Values[i]
		if n, ok := v.Number(); ok && v.Field.Name == "request preambles" {
			j.want(m.Device.Unique, int(n))
		}
	}
}

func (j *Judge) want(device frame.Address, preambles int) {
	if j.wants == nil {
		j.wants = map[frame.Address]int{}
	}
	if _, known := j.wants[device]; known || len(j.wants) < mostDevices {
		j.wants[device] = preambles
	}
}
