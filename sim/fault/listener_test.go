package fault

import (
	"bytes"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

// A port is a tape that hears characters, as one does that leads outside.
type port struct {
	tape
	chars []byte
}

func (p *port) Expect(_ sim.Tick, chars []sim.Char, _ sim.Tick) {
	for _, c := range chars {
		p.chars = append(p.chars, c.Value)
	}
}

// told is when a station was told of a carrier.
func told(s *tape) (on []sim.Tick) {
	for _, h := range s.heard {
		if h.Carrier > 0 {
			on = append(on, h.At)
		}
	}
	return on
}

func TestLateCarrierDetect(t *testing.T) {
	message := published(t)[0]
	b := newBench(t, 1)
	listener := &tape{bursts: []*sim.Burst{burst(10*sim.Second, message)}}
	seat := b.line.Join(listener)
	seat.Name = "secondary master"
	name := b.add(Fault{Kind: "late carrier detect", Talker: "secondary master", Probability: 1, From: 5 * sim.Second,
		Settings: map[string]float64{"detect_bits": 7}})
	for _, c := range []struct {
		at, late sim.Tick
		what     string
	}{
		{2 * sim.Second, 0, "before its time"},
		{6 * sim.Second, 7 * sim.Bit, "before it has talked"},
		{15 * sim.Second, 7 * sim.Bit, "when it lasts"},
		{20 * sim.Second, 0, "when it was removed"},
	} {
		b.line.Run(c.at)
		if c.at == 20*sim.Second {
			b.set.Remove(c.at, name)
		}
		listener.heard = nil
		b.say("primary master", message)
		if on := told(listener); len(on) != 1 || on[0] != c.at+c.late {
			t.Errorf("%s: told of carriers at %d, want once, %d behind %d", c.what, on, c.late, c.at)
		}
		if on := told(b.ear); len(on) != 1 || on[0] != c.at {
			t.Errorf("%s: another one is told at %d", c.what, on)
		}
	}
}

func TestOwnEcho(t *testing.T) {
	message := published(t)[0]
	b := newBench(t, 1)
	in := &port{}
	seat := b.line.Join(in)
	f := Fault{Kind: "own echo", Talker: Host, Probability: 1, From: 10 * sim.Second, Until: 20 * sim.Second}
	b.add(f)
	for _, c := range []struct {
		at   sim.Tick
		want []byte
	}{{5, nil}, {15, message}, {25, nil}} {
		in.chars = nil
		b.line.Run(c.at * sim.Second)
		b.line.Arrive(seat, b.line.Now(), message, nil)
		if !bytes.Equal(in.chars, c.want) {
			t.Errorf("at %d s: %x came back, want %x", c.at, in.chars, c.want)
		}
	}
}

// The longest delay counts, and what lasts goes with the fault that brought it.
func TestTuningsCompose(t *testing.T) {
	b := newBench(t, 1, "PT-1")
	detect := func(bits float64) string {
		return b.add(on("PT-1", "late carrier detect", map[string]float64{"detect_bits": bits}))
	}
	nine, five := detect(9), detect(5)
	want := func(bits sim.Tick) {
		t.Helper()
		var got tuning
		for _, f := range b.set.tuners {
			f.kind.tune(f, &got)
		}
		if got.detect != bits*sim.Bit {
			t.Errorf("delay is %d, want %d bits", got.detect, bits)
		}
	}
	want(9)
	b.set.Remove(0, nine)
	want(5)
	b.set.Remove(0, five)
	want(0)
	if !b.set.idle {
		t.Error("a set without faults is not idle")
	}
}

// arrive has characters come in from outside in parts of n, and gives what goes on.
func arrive(b *bench, seat *sim.Seat, at sim.Tick, chars []byte, marks []frame.MarkAt, n int) (got []byte, gotMarks []frame.MarkAt) {
	for i := 0; i < len(chars); i += n {
		end := min(i+n, len(chars))
		var own []frame.MarkAt
		for _, m := range marks {
			if m.Pos >= int64(i) && m.Pos < int64(end) {
				own = append(own, frame.MarkAt{Pos: m.Pos - int64(i), Mark: m.Mark})
			}
		}
		c, m := b.set.Arrive(at+sim.Tick(end)*sim.Character, seat, chars[i:end], own)
		for _, at := range m {
			gotMarks = append(gotMarks, frame.MarkAt{Pos: at.Pos + int64(len(got)), Mark: at.Mark})
		}
		got = append(got, c...)
	}
	return got, gotMarks
}

// However the characters of a host come in, the same is on the line.
func TestArrivalsAreStruckAlikeInAllParts(t *testing.T) {
	faults := []Fault{
		{Kind: "bit errors", Talker: Host, Probability: 0.7, Settings: map[string]float64{"bit_error_rate": 0.02}},
		{Kind: "lost characters", Probability: 0.5, Settings: map[string]float64{"loss_rate": 0.1}},
		{Kind: "doubled characters", Talker: Host, Probability: 0.5, Settings: map[string]float64{"doubling_rate": 0.1}},
		{Kind: "wrong check byte", Probability: 1}, // these two need the whole message
		{Kind: "half character", Probability: 1},
	}
	all := func(n int) (got []byte, marks []frame.MarkAt) {
		b := newBench(t, 3)
		for _, f := range faults {
			b.add(f)
		}
		seat := b.line.Join(&port{})
		for i := range 50 {
			c, m := arrive(b, seat, sim.Tick(i)*10*sim.Second, text(40), []frame.MarkAt{{Pos: 7, Mark: frame.Parity}}, n)
			for _, at := range m {
				marks = append(marks, frame.MarkAt{Pos: at.Pos + int64(len(got)), Mark: at.Mark})
			}
			got = append(got, c...)
		}
		return got, marks
	}
	want, wantMarks := all(40)
	for _, n := range []int{1, 3, 5} {
		got, marks := all(n)
		if !bytes.Equal(got, want) || len(marks) != len(wantMarks) {
			t.Errorf("in parts of %d: %d characters and %d marks, want %d and %d as in one", n, len(got), len(marks), len(want), len(wantMarks))
		}
	}
	if bytes.Equal(want, bytes.Repeat(text(40), 50)) {
		t.Error("nothing was struck")
	}
}

// A fault strikes a message of a host as a whole, or not.
func TestMessagesOfAHostAreCounted(t *testing.T) {
	b := newBench(t, 1)
	f := Fault{Kind: "lost characters", Talker: Host, Probability: 1, Count: 2, Settings: map[string]float64{"loss_rate": 1}}
	b.add(f)
	first, second := b.line.Join(&port{}), b.line.Join(&port{})
	at := sim.Tick(0)
	for i, want := range []int{0, 0, 40, 40} {
		for _, seat := range []*sim.Seat{first, second}[:1+i/3] {
			if got, _ := arrive(b, seat, at, text(40), nil, 1); len(got) != want {
				t.Errorf("message %d: %d characters, want %d", i, len(got), want)
			}
		}
		at += 40*sim.Character + pause + 1
	}
}

// Hosts that come and go leave nothing behind.
func TestArrivalsAreForgotten(t *testing.T) {
	b := newBench(t, 1)
	b.add(Fault{Kind: "bit errors", Talker: Host, Probability: 1})
	for i := range 100 {
		b.set.Arrive(sim.Tick(i)*sim.Second, b.line.Join(&port{}), text(5), nil)
	}
	if got := len(b.set.faults[0].incoming); got != 1 {
		t.Errorf("messages of %d hosts are remembered, want the last one", got)
	}
}

// What comes in with errors and is struck by one goes on the line so.
func TestArrivalsOnALine(t *testing.T) {
	b := newBench(t, 1)
	b.add(Fault{Kind: "lost characters", Talker: Host, Probability: 1, Count: 1, Settings: map[string]float64{"loss_rate": 1}})
	seat := b.line.Join(&port{})
	message := published(t)[0]
	for i, want := range []int{0, 1} {
		b.ear.heard = nil
		b.line.Run(sim.Tick(i+1) * 10 * sim.Second)
		b.line.Arrive(seat, b.line.Now(), message, nil)
		b.line.Run(b.line.Now() + 5*sim.Second)
		if got := len(b.ear.events()); got != want {
			t.Errorf("message %d: %d events were heard, want %d", i, got, want)
		}
	}
}
