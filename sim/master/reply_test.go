package master_test

import (
	"errors"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// A master that hears itself goes on as one that does not, to the tick.
func TestEchoIsNoRival(t *testing.T) {
	var ends [2]sim.Tick
	for i, echo := range []bool{false, true} {
		l := lineOf(t, 1, config(7, 3))
		s := &scanner{}
		scan := master.Scan{To: 15, Retries: 2, Found: func(f master.Found) { s.found = append(s.found, f) }}
		s.Master = master.New(master.Config{Primary: true}, scan.Run)
		defer s.Close()
		l.Join(s.Master).Echo(echo)
		run(t, l, s)
		if len(s.found) != 1 || s.found[0].Tries != 1 || s.found[0].LongTag == nil {
			t.Errorf("echo %v: found %+v, want one device at the first try", echo, s.found)
		}
		ends[i] = l.Now()
	}
	if ends[0] != ends[1] {
		t.Errorf("with echo it took %d ticks, want %d as without", ends[1], ends[0])
	}
}

func TestRivalIsHeardBesideTheEcho(t *testing.T) {
	const asked = 33*sim.Character + sim.CarrierLead + ownRequest
	for name, tt := range map[string]struct {
		at      sim.Tick
		command uint8
	}{
		"another request":               {onAt, 1},
		"the same, later":               {2 * sim.Second, 0},
		"the same, in place of a reply": {asked + 2*sim.Character, 0},
		"another one, right behind it":  {asked + sim.CarrierTail, 1},
	} {
		f := frame.Frame{Kind: frame.STX, Address: frame.Polling(0), Primary: true, Command: tt.command}
		m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
			yield(&master.Transaction{Address: frame.Polling(0), Preambles: 5})
			yield(&master.Transaction{Address: frame.Polling(0), Preambles: 5, Earliest: 60 * sim.Second})
		})
		line := sim.NewLine(1)
		line.Join(m).Echo(true)
		line.Join(&speaker{said(t, tt.at, f)})
		line.Run(10 * sim.Second)
		if !errors.Is(m.Err(), master.ErrRival) {
			t.Errorf("%s: %v, want a rival", name, m.Err())
		}
		m.Close()
	}
}

// A hand feeds a master what it hears, step by step.
type hand struct {
	*testing.T
	*master.Master
	done []master.Transaction // in their order
	end  sim.Tick             // of the request that was sent last
}

// feed has a primary master ask polling address 0, and gives it at the moment when the
// first request has begun.
func feed(t *testing.T) (h *hand, b *sim.Burst) { return feedBehind(t, 0) }

// feedBehind is the same behind a port that is that late.
func feedBehind(t *testing.T, lateness sim.Tick) (h *hand, b *sim.Burst) {
	t.Helper()
	h = &hand{T: t}
	h.Master = master.New(master.Config{Primary: true, Lateness: lateness}, func(yield func(*master.Transaction) bool) {
		for {
			tr := &master.Transaction{Address: frame.Polling(0), Preambles: 5}
			if !yield(tr) {
				return
			}
			h.done = append(h.done, *tr)
		}
	})
	t.Cleanup(h.Close)
	h.Step(0, nil)
	b, _ = h.Step(33*sim.Character+lateness, nil)
	if b == nil {
		t.Fatal("did not send")
	}
	h.end = b.Start(len(b.Chars))
	return h, b
}

// hear has it hear a frame or something unreadable, that long behind its request, and
// gives when it may send.
func (h *hand) hear(begin, end sim.Tick, outcome frame.Outcome, f frame.Frame) (wake sim.Tick) {
	_, wake = h.Step(h.end+end, []sim.Heard{{At: h.end + end, Begin: h.end + begin, End: h.end + end,
		Event: frame.Event{Outcome: outcome, Frame: f}}})
	return wake - h.end - end
}

// What a damaged echo is: somebody talked across. The reply may come all the same.
func TestDamagedEcho(t *testing.T) {
	const char = sim.Character
	h, _ := feed(t)
	h.hear(-10*char, -3*char, frame.Damaged, frame.Frame{Kind: frame.STX, Primary: true})
	h.hear(10*char, 40*char, frame.Whole, frame.Frame{Kind: frame.ACK, Primary: true})
	if len(h.done) != 1 || h.done[0].Outcome != master.Answered || h.done[0].ResponseTime != 10*char {
		t.Errorf("with a reply: got %+v, want an answer behind 10 characters", h.done)
	}

	h, _ = feed(t)
	if wake := h.hear(-10*char, -3*char, frame.Damaged, frame.Frame{Kind: frame.STX, Primary: true}); wake != (3+33)*char {
		t.Errorf("waits %d ticks, want 33 characters behind the request", wake)
	}
	h.Step(h.end+33*char, nil)
	if len(h.done) != 1 || h.done[0].Outcome != master.Silent {
		t.Errorf("without a reply: got %+v, want silence", h.done)
	}
}

// While a reply may come nothing else that is heard gives the master a turn.
func TestTheReplyIsWaitedFor(t *testing.T) {
	const char = sim.Character
	for _, tt := range []struct {
		name    string
		f       frame.Frame
		wait    sim.Tick
		outcome master.Outcome
	}{
		{"reply to the other", frame.Frame{Kind: frame.ACK}, 33 * char, master.Silent},
		{"reply of another device", frame.Frame{Kind: frame.ACK, Primary: true, Address: frame.Polling(1)}, 33 * char, master.Unreadable},
		{"request of the other", frame.Frame{Kind: frame.STX}, 33 * char, master.Silent},
		{"burst to the other", frame.Frame{Kind: frame.BACK}, 35 * char, master.Silent},
		{"burst to itself", frame.Frame{Kind: frame.BACK, Primary: true}, 35 * char, master.Silent},
	} {
		h, _ := feed(t)
		if wait := h.hear(2*char, 20*char, frame.Whole, tt.f); wait != tt.wait {
			t.Errorf("%s: waits %d ticks, want %d", tt.name, wait, tt.wait)
		}
		h.hear(25*char, 50*char, frame.Whole, frame.Frame{Kind: frame.ACK, Primary: true})
		if len(h.done) != 1 || h.done[0].Outcome != master.Answered {
			t.Errorf("%s, then the reply: got %+v, want an answer", tt.name, h.done)
		}

		h, _ = feed(t)
		h.hear(2*char, 20*char, frame.Whole, tt.f)
		h.Step(h.end+20*char+tt.wait, nil)
		if len(h.done) != 1 || h.done[0].Outcome != tt.outcome {
			t.Errorf("%s, then nothing: got %+v, want outcome %d", tt.name, h.done, tt.outcome)
		}
	}
}

// A reply is the transaction's own, and a burst that a fault has made longer the line's.
func TestNothingIsOverwritten(t *testing.T) {
	const char = sim.Character
	h, b := feed(t)
	data, expansion := []byte{1, 2}, []byte{3}
	b.Tail += 1000 * char
	h.hear(10*char, 40*char, frame.Whole, frame.Frame{Kind: frame.ACK, Primary: true, Data: data, Expansion: expansion})
	data[0], expansion[0] = 9, 9
	if got := h.done[0].Reply; got.Data[0] != 1 || got.Expansion[0] != 3 {
		t.Errorf("the reply is %+v, want it as it was heard", got)
	}
	again, _ := h.Step(h.end+48*char, nil)
	if again == nil || again == b || &again.Chars[0] == &b.Chars[0] {
		t.Errorf("sent %p, want another burst than %p, which is still on the line", again, b)
	}
}

// Behind a port that is late everything is waited for that much longer, and a turn that
// much longer too.
func TestLateness(t *testing.T) {
	const char, lateness = sim.Character, 16 * sim.Millisecond
	for _, tt := range []struct {
		name            string
		earliest, after sim.Tick // behind the end of a reply to the other master, at 20 characters
	}{
		{"nothing to ask before the turn is over", 2*char + lateness, 2*char + lateness},
		{"nothing to ask before it was over", 2*char + lateness + 1, 33*char + lateness},
	} {
		m := master.New(master.Config{Primary: true, Lateness: lateness}, endlessly(20*char+tt.earliest))
		defer m.Close()
		if _, wake := m.Step(0, nil); wake != 33*char+lateness {
			t.Errorf("%s: may send at %d, want %d", tt.name, wake, 33*char+lateness)
		}
		_, now := m.Step(20*char, []sim.Heard{{At: 20 * char, Begin: 0, End: 20 * char, Event: frame.Event{Outcome: frame.Whole, Frame: frame.Frame{Kind: frame.ACK}}}})
		var b *sim.Burst
		for b == nil {
			at := now
			if b, now = m.Step(at, nil); b == nil && now <= at {
				t.Fatalf("%s: stepped at %d, wants to be woken at %d", tt.name, at, now)
			}
		}
		if got := b.At - 20*char; got != tt.after {
			t.Errorf("%s: sent %d ticks behind, want %d", tt.name, got, tt.after)
		}
	}
}

// What a late port hears up to its lateness behind the slave time-out may have come in
// time.
func TestReplyBehindALatePort(t *testing.T) {
	const lateness = 16 * sim.Millisecond
	for begin, want := range map[sim.Tick]master.Outcome{28*sim.Character + lateness: master.Answered, 28*sim.Character + lateness + 1: master.Silent} {
		h, _ := feedBehind(t, lateness)
		h.hear(begin, begin+20*sim.Character, frame.Whole, frame.Frame{Kind: frame.ACK, Primary: true})
		if len(h.done) != 1 || h.done[0].Outcome != want {
			t.Errorf("%d ticks behind: got %+v, want outcome %d", begin, h.done, want)
		}
	}
}

// lateReplies asks a device that replies late, and gives how its requests fared.
func lateReplies(t *testing.T, delays []sim.Tick, asked int) (all []master.Transaction) {
	t.Helper()
	line := sim.NewLine(1)
	line.Join(&latecomer{delays: delays})
	m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
		for range asked {
			tr := master.Transaction{Address: frame.Polling(0), Preambles: 5}
			if !yield(&tr) {
				return
			}
			all = append(all, tr)
		}
	})
	defer m.Close()
	line.Join(m)
	for !m.Done() {
		line.Run(line.Next())
	}
	return all
}

// A latecomer answers each request of command 0, each so much later, numbered in its
// device status. While it has something to send it does not listen.
type latecomer struct {
	delays []sim.Tick
	until  sim.Tick
	count  uint8
}

func (l *latecomer) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for _, h := range heard {
		if h.Carrier != 0 || h.Event.Outcome != frame.Whole || len(l.delays) == 0 || now < l.until {
			continue
		}
		l.count++
		f := frame.Frame{Kind: frame.ACK, Primary: true, Status: frame.Status{Device: frame.DeviceStatus(l.count)}}
		chars, _ := f.AppendBinary(frame.AppendPreambles(nil, 5))
		b := &sim.Burst{At: h.End + l.delays[0] - sim.CarrierLead, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars}
		l.delays, l.until = l.delays[1:], b.Off()
		return b, sim.Never
	}
	return nil, sim.Never
}

// Source: FieldComm Group support article 8000040648 (28 characters); what becomes of
// a reply that is later from memory.
func TestLateReply(t *testing.T) {
	const char = sim.Character
	soon := sim.Tick(5 * char)
	for _, tt := range []struct {
		name     string
		delay    sim.Tick
		outcomes [3]master.Outcome
		third    uint8 // number of the reply that the third request gets
	}{
		{"in time", 28 * char, [3]master.Outcome{master.Answered, master.Answered, master.Answered}, 3},
		{"too late by a tick", 28*char + 1, [3]master.Outcome{master.Silent, master.Answered, master.Answered}, 3},
		{"too late by four characters", 32 * char, [3]master.Outcome{master.Silent, master.Answered, master.Answered}, 3},
		// Its carrier goes on while the second request is on the line, and both are lost.
		{"across the second request", 40 * char, [3]master.Outcome{master.Silent, master.Silent, master.Answered}, 2},
		// It comes when the second request waits for its reply, and is taken for that: the
		// device has not heard the second one.
		{"behind the second request", 50 * char, [3]master.Outcome{master.Silent, master.Answered, master.Answered}, 2},
	} {
		all := lateReplies(t, []sim.Tick{tt.delay, soon, soon}, 3)
		var got [3]master.Outcome
		for i := range all {
			got[i] = all[i].Outcome
		}
		if got != tt.outcomes || uint8(all[2].Reply.Status.Device) != tt.third {
			t.Errorf("%s: outcomes %v and reply %d to the third, want %v and %d", tt.name, got, all[2].Reply.Status.Device, tt.outcomes, tt.third)
		}
		if tt.delay > 28*char && all[0].Ended <= all[0].Asked+28*char {
			t.Errorf("%s: given up at %d, before the slave time-out is over", tt.name, all[0].Ended)
		}
	}
}
