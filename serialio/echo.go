package serialio

import (
	"sync"
	"time"

	"looptone/frame"
)

// An echo is what a port has sent and may hear again. What comes in is compared with it
// in order: the same characters are its whole echo, up to the first difference. From
// there on it is a damaged one, until as many characters as were sent have come and the
// message has ended, or until it has ended by more than the lateness. What comes then is
// somebody else's. An echo that stops early is not told: what is not heard cannot be
// handed on.
//
// A nil echo is that of a port without one. Its methods may be called from any goroutine.
type echo struct {
	late time.Duration // that an echo may have

	mu       sync.Mutex
	messages []sentMessage // the oldest first
}

// A sentMessage is one whose echo has not come to its end.
type sentMessage struct {
	len     int       // of the message, of which chars may be a part
	chars   []byte    // that are on their way
	end     time.Time // of its last stop bit
	heard   int       // characters
	damaged bool
}

// newEcho is the echo of a port with these settings.
func newEcho(s Settings) *echo {
	if !s.Modem.Echo {
		return nil
	}
	return &echo{late: lateness + s.Characters(5)} // as much as a line waits for more
}

// begin notes that a message of n characters begins now and is over at end.
func (e *echo) begin(n int, now, end time.Time) {
	if e == nil {
		return
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if end.Before(now) {
		end = now // what is late goes at once
	}
	e.forget(now)
	e.messages = append(e.messages, sentMessage{len: n, end: end})
}

// sent notes characters of the message that began last, before they leave.
func (e *echo) sent(chars []byte) {
	if e == nil {
		return
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if n := len(e.messages); n > 0 {
		m := &e.messages[n-1]
		m.chars = append(m.chars, chars...)
	}
}

// cut notes that the message that began last was given up at now.
func (e *echo) cut(now time.Time) {
	if e == nil {
		return
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	if n := len(e.messages); n > 0 {
		m := &e.messages[n-1]
		m.len = len(m.chars)
		if now.Before(m.end) {
			m.end = now
		}
	}
}

// forget drops the messages of which nothing is to be heard any more at now.
func (e *echo) forget(now time.Time) {
	for len(e.messages) > 0 && e.messages[0].over(now, e.late) {
		e.messages = e.messages[1:]
	}
}

func (m *sentMessage) over(now time.Time, late time.Duration) bool {
	if now.After(m.end.Add(late)) {
		return true
	}
	return m.heard >= m.len && (!m.damaged || now.After(m.end))
}

// divide divides what came in into what is an echo and what is not.
func (e *echo) divide(a frame.Arrival) []frame.Arrival {
	if e == nil || len(a.Chars) == 0 {
		return []frame.Arrival{a}
	}
	e.mu.Lock()
	defer e.mu.Unlock()
	wrong := wrongOnes(&a)
	var parts []frame.Arrival
	begin, kind := 0, e.hear(a.At, a.Chars[0], wrong[0])
	for i := 1; i < len(a.Chars); i++ {
		if next := e.hear(a.At, a.Chars[i], wrong[i]); next != kind {
			parts = append(parts, part(&a, begin, i, kind))
			begin, kind = i, next
		}
	}
	return append(parts, part(&a, begin, len(a.Chars), kind))
}

// hear says what a character is that came in at the moment at.
func (e *echo) hear(at time.Time, char byte, wrong bool) frame.Echo {
	e.forget(at)
	if len(e.messages) == 0 {
		return frame.NoEcho
	}
	m := &e.messages[0]
	if wrong || m.heard >= len(m.chars) || m.chars[m.heard] != char {
		m.damaged = true
	}
	m.heard++
	if m.damaged {
		return frame.EchoDamaged
	}
	return frame.EchoWhole
}

// wrongOnes are the characters that were received with an error.
func wrongOnes(a *frame.Arrival) []bool {
	wrong := make([]bool, len(a.Chars))
	for _, m := range a.Marks {
		if m.Mark&(frame.Parity|frame.Framing) != 0 && m.Pos < int64(len(wrong)) {
			wrong[m.Pos] = true
		}
	}
	return wrong
}

// part is a from one character up to another. Marks behind the last character of a go
// with that.
func part(a *frame.Arrival, begin, end int, kind frame.Echo) frame.Arrival {
	p := frame.Arrival{At: a.At, Chars: a.Chars[begin:end:end], Echo: kind}
	for _, m := range a.Marks {
		if m.Pos >= int64(begin) && (m.Pos < int64(end) || end == len(a.Chars)) {
			m.Pos -= int64(begin)
			p.Marks = append(p.Marks, m)
		}
	}
	return p
}
