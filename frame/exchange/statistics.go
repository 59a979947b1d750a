package exchange

import (
	"time"

	"looptone/frame"
	"looptone/frame/payload"
)

// Statistics counts messages in constant memory. The zero Statistics is ready.
// Its members and what its methods give are plain values, valid at any moment.
type Statistics struct {
	Counts
	Errors     Errors
	Characters int64 // of all events; those of an echo are on the line once
	Echoes     int64 // frames heard again on another stream
	Primary    int64 // requests of the primary master
	Secondary  int64 // requests of the secondary master
	Rivals     int64 // polling addresses of which two devices were told

	responses ResponseTimes
	devices   tallies
	commands  commands
	writes    WriteLog
	time      timed
}

// Counts are numbers of frames and what came of them. Replies to a request that
// was heard damaged are neither Answered nor Unasked.
type Counts struct {
	Requests, Replies, Bursts int64
	Answered, Unanswered      int64 // requests; the others are still waiting
	Retries                   int64 // requests that repeat one before
	Unasked                   int64 // replies that nobody asked for
	Refused                   int64 // replies: the command was not executed
	Busy                      int64 // replies: busy, or a delayed response goes on
	Misheard                  int64 // replies: the device heard its request with errors
}

// Waiting is how many requests may still be answered.
func (c *Counts) Waiting() int64 { return c.Requests - c.Answered - c.Unanswered }

// Frames is the number of frames.
func (c *Counts) Frames() int64 { return c.Requests + c.Replies + c.Bursts }

// When is the moment of a message.
type When struct {
	Number int // of the message
	Span   Span
}

// timed is how much was heard at times that are known.
type timed struct {
	characters int64
	known      bool
	from, to   time.Duration
}

// Add counts a message.
func (s *Statistics) Add(m *Message) {
	if m.EchoOf > 0 {
		s.Echoes++
		return
	}
	s.addCharacters(m)
	if m.Rival != nil {
		s.Rivals++
	}
	switch {
	case m.Unanswered > 0, m.Outcome == frame.Whole:
		s.addFrame(m)
	default:
		s.Errors.add(m)
		if m.Outcome == frame.Damaged {
			s.devices.addDamage(m)
		}
	}
}

func (s *Statistics) addFrame(m *Message) {
	if m.Unanswered == 0 && m.Frame.Kind == frame.STX {
		if m.Frame.Primary {
			s.Primary++
		} else {
			s.Secondary++
		}
	}
	s.Counts.add(m)
	s.commands.add(m)
	t := s.devices.of(m)
	t.counts.add(m)
	if m.Frame.Kind.FromSlave() {
		s.Errors.addReported(&m.Frame)
		if m.Response.Known {
			s.responses.add(m.Response.Time)
			t.responses.add(m.Response.Time)
		}
		if t != &s.devices.others {
			t.status.add(m)
		}
	}
	s.writes.add(m)
}

func (s *Statistics) addCharacters(m *Message) {
	n := m.characters()
	s.Characters += n
	if !m.Span.Known {
		return
	}
	t := &s.time
	if !t.known {
		t.known, t.from = true, m.Span.Begin
	}
	t.characters += n
	t.from, t.to = min(t.from, m.Span.Begin), max(t.to, m.Span.End)
}

// add counts a frame, or a request that stayed unanswered.
func (c *Counts) add(m *Message) {
	if m.Unanswered > 0 {
		c.Unanswered++
		return
	}
	f := &m.Frame
	if f.Kind == frame.STX {
		c.Requests++
		if m.RetryOf > 0 {
			c.Retries++
		}
		return
	}
	if f.Kind == frame.BACK {
		c.Bursts++
		return
	}
	c.Replies++
	switch {
	case m.ReplyTo == 0:
		c.Unasked++
	case !m.RequestDamaged:
		c.Answered++
	}
	if f.Status.Response != 0 {
		c.addResponse(f.Status.Response)
	}
}

// Response codes of a device that has not done what it was asked for yet.
//
// Source: Biffi ICON3000 HART manual MDE 254, p.39 (33, 34).
const (
	busy             = 32
	delayedInitiated = 33
	delayedRunning   = 34
)

func (c *Counts) addResponse(r frame.Response) {
	code, ok := r.Code()
	switch {
	case !ok:
		c.Misheard++
	case code == busy, code == delayedInitiated, code == delayedRunning:
		c.Busy++
	case !payload.Executed(code):
		c.Refused++
	}
}

// plus adds the numbers of d.
func (c *Counts) plus(d *Counts) {
	c.Requests += d.Requests
	c.Replies += d.Replies
	c.Bursts += d.Bursts
	c.Answered += d.Answered
	c.Unanswered += d.Unanswered
	c.Retries += d.Retries
	c.Unasked += d.Unasked
	c.Refused += d.Refused
	c.Busy += d.Busy
	c.Misheard += d.Misheard
}

// Span is from the first character to the last that have times; ok is false
// where none has.
func (s *Statistics) Span() (from, to time.Duration, ok bool) {
	return s.time.from, s.time.to, s.time.known
}

// Utilisation is the part of the time in which characters were on the line, 0 to
// 1; ok is false where times are not known.
func (s *Statistics) Utilisation() (part float64, ok bool) {
	t := &s.time
	if !t.known || t.to <= t.from {
		return 0, false
	}
	return float64(t.characters) * 11 / 1200 / (t.to - t.from).Seconds(), true
}

// Responses are the response times of all devices.
func (s *Statistics) Responses() Quantiles { return s.responses.Quantiles() }

// Devices are the devices and silent addresses in the order in which they were
// heard first, at most 1024, and the sum of all beyond.
func (s *Statistics) Devices() (devices []DeviceTally, others DeviceTally) {
	others = s.devices.others.tell()
	others.Polling = -1
	return s.devices.list(), others
}

// Commands are the commands in the order of their numbers.
func (s *Statistics) Commands() []CommandTally { return s.commands.list() }

// Writes are the requests that changed, or may have changed, something.
func (s *Statistics) Writes() *WriteLog { return &s.writes }
