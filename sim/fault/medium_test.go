package fault

import (
	"bytes"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

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

// Two hosts talk at the same time: the first that is struck is the last one too.
func TestMessagesAtOnceAreCounted(t *testing.T) {
	b := newBench(t, 1)
	b.add(Fault{Kind: "lost characters", Talker: Host, Probability: 1, Count: 1, Settings: map[string]float64{"loss_rate": 0.1}})
	seats := []*sim.Seat{b.line.Join(&port{}), b.line.Join(&port{})}
	var got [2]int
	for i, c := range text(200) {
		for j, seat := range seats {
			chars, _ := b.set.Arrive(sim.Tick(i)*sim.Character, seat, []byte{c}, nil)
			got[j] += len(chars)
		}
	}
	if (got[0] < 200) == (got[1] < 200) {
		t.Errorf("of two messages of 200 characters %d are on the line, want all of one of them only", got)
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
