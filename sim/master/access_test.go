package master_test

import (
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// A speaker is a station that sends bursts at their moments, whatever it hears.
type speaker []*sim.Burst

func (s *speaker) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if len(*s) == 0 {
		return nil, sim.Never
	}
	b := (*s)[0]
	if now < b.At {
		return nil, b.At
	}
	*s = (*s)[1:]
	return b, now
}

// said is a frame behind five preambles, with carrier on at a moment.
func said(t *testing.T, at sim.Tick, f frame.Frame) *sim.Burst {
	t.Helper()
	chars, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		t.Fatal(err)
	}
	return &sim.Burst{At: at, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars}
}

// A watched line keeps when each seat switched its carrier on and off.
type watched struct {
	*sim.Line
	talks map[*sim.Seat][]span
}

type span struct{ on, off sim.Tick }

func watch(l *sim.Line) *watched {
	w := &watched{l, map[*sim.Seat][]span{}}
	l.Log(func(talker *sim.Seat, b *sim.Burst) {
		w.talks[talker] = append(w.talks[talker], span{b.At, b.Off()})
	})
	return w
}

// endlessly asks polling address 0 for ever, but not before a moment.
func endlessly(earliest sim.Tick) master.Script {
	return func(yield func(*master.Transaction) bool) {
		for yield(&master.Transaction{Address: frame.Polling(0), Preambles: 5, Earliest: earliest}) {
		}
	}
}

// Moments of the tests below: a burst goes on long before a master that has just
// joined may send.
const (
	onAt       = 100 * sim.Millisecond
	ownRequest = 10 * sim.Character // 5 preambles, delimiter, address, command, byte count, check byte
	replyChars = 5 + 1 + 5 + 1 + 1 + 2 + 5 + 1
)

// What a master that has joined at 0 hears, and when it sends.
//
// Source: FieldComm Group support articles 8000040648 (33, 41, 8 and 2 characters)
// and 8000045189 (a burst tells which master may go next); their use from memory.
func TestWhenAMasterMaySend(t *testing.T) {
	frameOf := func(kind frame.Kind, primary bool) frame.Frame {
		f := frame.Frame{Kind: kind, Address: frame.Unique(0x3901, 7), Primary: primary, Command: 1}
		if kind.FromSlave() {
			f.Data = []byte{57, 0x41, 0xc8, 0, 0}
		}
		return f
	}
	const char = 55000
	for _, primary := range []bool{true, false} {
		quiet, name := sim.Tick(33*char), "primary"
		if !primary {
			quiet, name = 41*char, "secondary"
		}
		own := func(k frame.Kind) frame.Frame { return frameOf(k, primary) }
		others := func(k frame.Kind) frame.Frame { return frameOf(k, !primary) }
		long := said(t, onAt, own(frame.ACK))
		long.Tail = 20 * sim.Second
		for _, tt := range []struct {
			name     string
			earliest sim.Tick
			bursts   []*sim.Burst
			after    sim.Tick // the end of the last stop bit that it hears; 0 where it hears nothing
		}{
			{name: "nothing", after: quiet},
			{name: "nothing, and nothing to ask", earliest: 100 * sim.Second, after: 100 * sim.Second},
			{"noise", 0, []*sim.Burst{{At: onAt, Lead: 25000, Tail: 15000, Chars: []byte{0x55, 0x55}}}, quiet},
			{"request of the other", 0, []*sim.Burst{said(t, onAt, others(frame.STX))}, quiet},
			{"reply to itself", 0, []*sim.Burst{said(t, onAt, own(frame.ACK))}, 8 * char},
			{"reply to the other", 0, []*sim.Burst{said(t, onAt, others(frame.ACK))}, 15000},
			{"burst to itself", 0, []*sim.Burst{said(t, onAt, own(frame.BACK))}, quiet + 2*char},
			{"burst to the other", 0, []*sim.Burst{said(t, onAt, others(frame.BACK))}, 15000},
			{"bursts to itself and to the other", 0, []*sim.Burst{said(t, onAt, own(frame.BACK)), said(t, onAt+300*sim.Millisecond, others(frame.BACK))}, 15000},
			{"burst, reply to the other", 0, []*sim.Burst{said(t, onAt, own(frame.BACK)), said(t, onAt+300*sim.Millisecond, others(frame.ACK))}, quiet + 2*char},
			{"burst, reply to itself", 0, []*sim.Burst{said(t, onAt, own(frame.BACK)), said(t, onAt+300*sim.Millisecond, own(frame.ACK))}, quiet + 2*char},
			{"burst, request of the other", 0, []*sim.Burst{said(t, onAt, own(frame.BACK)), said(t, onAt+300*sim.Millisecond, others(frame.STX))}, quiet + 2*char},
			{"reply to the other, used late", onAt + 25000 + replyChars*char + 2*char, []*sim.Burst{said(t, onAt, others(frame.ACK))}, 2 * char},
			{"reply to the other, used too late", onAt + 25000 + replyChars*char + 2*char + 1, []*sim.Burst{said(t, onAt, others(frame.ACK))}, quiet},
			{"reply to itself, used too late", onAt + 25000 + replyChars*char + 10*char + 1, []*sim.Burst{said(t, onAt, own(frame.ACK))}, quiet},
			{"reply to the other, nothing to ask", 50 * sim.Second, []*sim.Burst{said(t, onAt, others(frame.ACK))}, 50*sim.Second - onAt - 25000 - replyChars*char},
			{"burst to the other, used too late", onAt + 25000 + replyChars*char + 2*char + 1, []*sim.Burst{said(t, onAt, others(frame.BACK))}, quiet + 2*char},
			{"carrier that stays on", 0, []*sim.Burst{long}, 20*sim.Second + quiet},
		} {
			line := watch(sim.NewLine(1))
			bursts := speaker(tt.bursts)
			line.Join(&bursts)
			m := master.New(master.Config{Primary: primary}, endlessly(tt.earliest))
			defer m.Close()
			seat := line.Join(m)
			var end sim.Tick
			if n := len(tt.bursts); n > 0 {
				end = tt.bursts[n-1].Start(len(tt.bursts[n-1].Chars))
			}
			for len(line.talks[seat]) == 0 && line.Next() < 200*sim.Second {
				line.Run(line.Next())
			}
			if len(line.talks[seat]) == 0 {
				t.Errorf("%s, %s: never sent", name, tt.name)
				continue
			}
			if got := line.talks[seat][0].on - end; got != tt.after {
				t.Errorf("%s, %s: sent %.2f characters behind, want %.2f", name, tt.name, float64(got)/char, float64(tt.after)/char)
			}
		}
	}
}

// A silent line on which a device used to burst is one without bursts again: hold is
// not waited any more.
func TestALineStopsBursting(t *testing.T) {
	line := watch(sim.NewLine(1))
	burst := frame.Frame{Kind: frame.BACK, Address: frame.Unique(0x3901, 7), Primary: true, Command: 1}
	bursts := speaker{said(t, onAt, burst)}
	line.Join(&bursts)
	m := master.New(master.Config{Primary: true}, endlessly(0))
	defer m.Close()
	seat := line.Join(m)
	line.Run(3 * sim.Second)
	talks := line.talks[seat]
	if got, want := talks[1].on-talks[0].on, sim.CarrierLead+ownRequest+33*sim.Character; got != want {
		t.Errorf("behind its own request it waits %d ticks, want %d", got, want)
	}
}

// That it was silent for long enough counts too when the master had nothing to ask.
func TestALineStopsBurstingWhileNobodyAsks(t *testing.T) {
	line := watch(sim.NewLine(1))
	burst := frame.Frame{Kind: frame.BACK, Address: frame.Unique(0x3901, 7), Primary: true, Command: 1}
	other := said(t, 15*sim.Second, frame.Frame{Kind: frame.STX, Address: frame.Polling(1)})
	line.Join(&speaker{said(t, 5*sim.Second, burst), other})
	m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
		_ = yield(&master.Transaction{Address: frame.Polling(0), Preambles: 5}) &&
			yield(&master.Transaction{Address: frame.Polling(0), Preambles: 5, Earliest: 15 * sim.Second})
	})
	defer m.Close()
	seat := line.Join(m)
	line.Run(20 * sim.Second)
	if got, want := line.talks[seat][1].on, other.Start(len(other.Chars))+33*sim.Character; got != want {
		t.Errorf("sent %d ticks behind what it should", got-want)
	}
}

// A master that does not hear what another talker sends across its own request waits
// from the end of that.
func TestWhatWasNotHeardIsWaitedFor(t *testing.T) {
	line := watch(sim.NewLine(1))
	across := &sim.Burst{At: 33*sim.Character + sim.Bit, Lead: 25000, Tail: 15000, Chars: make([]byte, 30)}
	line.Join(&speaker{across})
	m := master.New(master.Config{Primary: true}, endlessly(0))
	defer m.Close()
	seat := line.Join(m)
	line.Run(3 * sim.Second)
	if got, want := line.talks[seat][1].on, across.Off()+33*sim.Character; got != want {
		t.Errorf("sent again at %d, want %d", got, want)
	}
}

// A carrier that never goes off lets the master wait, and takes no time to compute.
func TestStuckCarrier(t *testing.T) {
	line := watch(sim.NewLine(1))
	line.Join(&speaker{{At: onAt, Lead: 25000, Tail: 1000 * 3600 * sim.Second, Chars: []byte{0x55}}})
	m := &counted{Station: master.New(master.Config{Primary: true}, endlessly(0))}
	seat := line.Join(m)
	line.Run(999 * 3600 * sim.Second)
	if len(line.talks[seat]) > 0 || m.steps > 10 {
		t.Errorf("sent %d times and was stepped %d times, want 0 and a few", len(line.talks[seat]), m.steps)
	}
	line.Run(1001 * 3600 * sim.Second)
	if len(line.talks[seat]) < 1000 {
		t.Errorf("sent %d times in the hour behind it, want it to go on", len(line.talks[seat]))
	}
}

// counted counts how often a station is stepped.
type counted struct {
	sim.Station
	steps int
}

func (c *counted) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	c.steps++
	return c.Station.Step(now, heard)
}
