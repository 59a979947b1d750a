package findings

import (
	"errors"

	"looptone/frame"
	"looptone/frame/exchange"
)

// damaged is a damaged request. Whether its byte count was wrong, only what stands
// behind it tells.
type damaged struct {
	host   *host // nil for none
	at     where
	end    int64 // index behind its last character
	fault  frame.FaultError
	check  byte // of all its characters; 0 where they are right together
	data   int  // bytes that came for data
	count  int  // byte count; −1 where that could not be read
	direct bool
}

// addDamage keeps a damaged request until the next message tells more of it.
func (j *Judge) addDamage(m *exchange.Message) {
	fault, _ := m.Err.(*frame.FaultError)
	if !asks(m) {
		return
	}
	h := j.host(m.Frame.Primary)
	h.requests++
	h.last = whereOf(m)
	d := damaged{host: h, at: whereOf(m), end: m.End, fault: *fault,
		check: frame.CheckByte(m.Raw), count: -1, direct: j.sight.Direct}
	if at := countAt(m.Raw); at < len(m.Raw) {
		d.count = int(m.Raw[at])
		d.data = len(m.Raw) - at - 2 // the check byte is none
	}
	j.damaged = d
}

// countAt is the index of the byte count of a frame.
func countAt(raw []byte) int {
	d := frame.Delimiter(raw[0])
	at := 1 + d.Expansion() + 2
	if d.Long() {
		at += 4
	}
	return at
}

// settle judges the request that was damaged last, now that m stands behind it; nil
// where nothing does.
func (j *Judge) settle(m *exchange.Message) {
	d := &j.damaged
	h := d.host
	if h == nil {
		return
	}
	d.host = nil
	switch err := d.fault.Err; {
	case d.count > d.data && d.data >= 0 && d.check == 0:
		h.breach(ByteCount, d.at, "its byte count is %d, and %d bytes come", d.count, d.data)
	case err == frame.ErrCheckByte && m != nil && d.goesOn(m):
		h.breach(ByteCount, d.at, "its byte count is %d, and %d bytes come", d.count, d.count+int(m.End-d.end))
	case err == frame.ErrCut && m == nil: // the capture may end there, not the request
	default:
		d.judge(h)
	}
}

// goesOn reports whether m are the last characters of a request whose byte count was
// too small.
func (d *damaged) goesOn(m *exchange.Message) bool {
	check := frame.CheckByte(m.Raw)
	if m.Preambles%2 == 1 {
		check ^= 0xff
	}
	return m.Outcome == frame.Noise && m.Stream == d.at.Stream && m.Start-int64(m.Preambles) == d.end && check == d.check
}

// judge judges by what was wrong.
func (d *damaged) judge(h *host) {
	r, found := Gap, h.doubt
	if d.direct {
		found = h.breach
	}
	text := d.fault.Field.String() + " " + d.fault.Err.Error()
	switch {
	case errors.Is(&d.fault, frame.ErrCheckByte):
		found(CheckByte, d.at, "its check byte is %02x, want %02x", d.fault.Got, d.fault.Want)
		return
	case errors.Is(&d.fault, frame.ErrParity), errors.Is(&d.fault, frame.ErrFraming):
		r = Parity
	case errors.Is(&d.fault, frame.ErrCut):
		text = "it breaks off in front of its " + d.fault.Field.String()
	}
	found(r, d.at, "%s", text)
}
