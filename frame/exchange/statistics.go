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
	Characters int64 // of all events; what several streams heard at the same time is on the line once
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
	Stream int
	Span   Span
}

func whenOf(m *Message) When { return When{m.Number, m.Stream, m.Span} }

// timed is how long the line was watched at times that are known, and used.
type timed struct {
	watched  time.Duration // in parts that are over
	used     time.Duration
	known    bool // this part has times
	from, to time.Duration
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
	if m.RequestToAll && !m.RequestDamaged {
		s.devices.own(t)
	}
	if m.Frame.Kind.FromSlave() {
		s.Errors.addReported(&m.Frame)
		if m.Response.Known {
			s.responses.add(m.Response)
			t.responses.add(m.Response)
		}
		if t != &s.devices.others {
			t.status.add(m)
		}
	}
	s.writes.add(m)
}

func (s *Statistics) addCharacters(m *Message) {
	n := m.characters()
	if m.AlsoHeard == 0 {
		s.Characters += n
	}
	if !m.Span.Known {
		return
	}
	t := &s.time
	if !t.known {
		t.known, t.from, t.to = true, m.Span.Begin, m.Span.Begin
	}
	t.used += max(0, min(frame.Characters(n), m.Span.End-max(m.Span.Begin, t.to)))
	t.from, t.to = min(t.from, m.Span.Begin), max(t.to, m.Span.End)
}

// Part says that nobody listened for a while: what follows is another part of the
// conversation, at any time.
func (s *Statistics) Part() {
	s.time.watched += s.time.to - s.time.from
	s.time.known, s.time.from, s.time.to = false, 0, 0
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

func (c *Counts) addResponse(r frame.Response) {
	code, ok := r.Code()
	switch {
	case !ok:
		c.Misheard++
	case payload.Unfinished(code):
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

// Watched is how long the line was listened to, from the first character with a time
// to the last of each part; 0 where times are not known.
func (s *Statistics) Watched() time.Duration { return s.time.watched + s.time.to - s.time.from }

// Utilisation is the part of that in which characters were on the line, 0 to 1; ok
// is false where times are not known.
func (s *Statistics) Utilisation() (part float64, ok bool) {
	watched := s.Watched()
	if watched <= 0 {
		return 0, false
	}
	return s.time.used.Seconds() / watched.Seconds(), true
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
