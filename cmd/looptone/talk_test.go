package main

import (
	"testing"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/exchange/findings"
	"looptone/sim"
)

// mute is a station that says nothing.
type mute struct{}

func (mute) Step(sim.Tick, []sim.Heard) (*sim.Burst, sim.Tick) { return nil, sim.Never }

// outlet is one that leads outside.
type outlet struct{ mute }

func (outlet) Expect(sim.Tick, []sim.Char, sim.Tick) {}

// Whoever begins while somebody else talks talks over him; the rest of what had begun
// before does not. Moments are in characters.
func TestTalks(t *testing.T) {
	const device, other, host = 0, 1, 2
	line := sim.NewLine(1)
	seats := []*sim.Seat{line.Join(mute{}), line.Join(mute{}), line.Join(outlet{})}
	for _, tt := range []struct {
		name     string
		bursts   [][3]int // who, from when, how many characters
		over     int      // whom the last one talks over, -1 for nobody
		from, to int      // when several talked at once
		came     int      // when the last message from outside had begun to come
	}{
		{"one behind the other", [][3]int{{device, 0, 5}, {other, 5, 5}}, -1, 0, 0, 0},
		{"one over the other", [][3]int{{device, 0, 5}, {other, 4, 5}}, device, 0, 9, 0},
		{"inside the other", [][3]int{{device, 0, 9}, {other, 4, 1}}, device, 0, 9, 0},
		{"behind one that was inside", [][3]int{{device, 0, 9}, {other, 4, 1}, {host, 7, 1}}, device, 0, 9, 8},
		{"again, later", [][3]int{{device, 0, 5}, {other, 4, 5}, {device, 20, 5}, {other, 24, 2}}, device, 20, 26, 0},
		{"three in a chain", [][3]int{{device, 0, 5}, {other, 4, 5}, {device, 8, 5}}, other, 0, 13, 0},
		{"at once from outside", [][3]int{{host, 0, 14}}, -1, 0, 0, 14},
		{"in pieces", [][3]int{{host, 0, 1}, {host, 1, 1}, {host, 3, 1}}, -1, 0, 0, 1},
		{"another message", [][3]int{{host, 0, 1}, {host, 6, 1}, {host, 13, 2}}, -1, 0, 0, 15},
		{"somebody talks over the host", [][3]int{{host, 0, 1}, {host, 1, 1}, {device, 1, 9}, {host, 2, 1}}, -1, 1, 10, 1},
	} {
		var all talks
		var over talk
		for _, b := range tt.bursts {
			over = all.add(seats[b[0]], &sim.Burst{At: sim.Tick(b[1]) * sim.Character, Chars: make([]byte, b[2])})
		}
		whom := -1
		for i, s := range seats {
			if s == over.seat {
				whom = i
			}
		}
		m := all.mixed
		if whom != tt.over || m.on != sim.Tick(tt.from)*sim.Character || m.off != sim.Tick(tt.to)*sim.Character || all.came != sim.Tick(tt.came)*sim.Character {
			t.Errorf("%s: over %d, mixed %+v, came %v; want %d, %d to %d, %d", tt.name, whom, m, all.came, tt.over, tt.from, tt.to, tt.came)
		}
	}
}

func TestAsker(t *testing.T) {
	for chars, want := range map[string][2]bool{
		"\xff\xff\x02\x83\x00\x00\x81": {true, true}, "\xff\xff\x82\x39": {false, true}, "\x02\x80": {true, true},
		"\xff\xff\x02": {}, "\xff\xff": {}, "": {}, "\xff\xff\x06\x80\x00": {}, "\xff\x01\x80": {},
	} {
		if primary, ok := asker(&sim.Burst{Chars: []byte(chars)}); primary != want[0] || ok != want[1] {
			t.Errorf("% x: %v, %v, want %v", chars, primary, ok, want)
		}
	}
}

// A host outside that hands over a message at once may have begun it before somebody
// else began to talk; when that was longer ago, it surely has talked over him.
func TestHostThatTalksOver(t *testing.T) {
	ask := frame.Frame{Kind: frame.STX, Primary: true, Address: frame.Polling(3)}
	wire, err := ask.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		t.Fatal(err)
	}
	heard := func(number int, from, to int64, ev frame.Event) *exchange.Message {
		return &exchange.Message{Event: &ev, Number: number, Span: exchange.Span{Known: true,
			Begin: frame.Characters(from), Start: frame.Characters(from), End: frame.Characters(to)}}
	}
	for _, tt := range []struct {
		behind sim.Tick // the other's carrier
		want   findings.Verdict
	}{{12 * sim.Character, findings.InDoubt}, {12*sim.Character + 1, findings.Broken}} {
		line := sim.NewLine(1)
		device, host := line.Join(mute{}), line.Join(outlet{})
		h := newHostJudge()
		h.carrier(host, &sim.Burst{Chars: wire})
		h.add(heard(1, 0, 10, frame.Event{Outcome: frame.Whole, Frame: ask, Preambles: 5, End: 10}))
		const on = 20 * sim.Character
		h.carrier(device, &sim.Burst{At: on, Chars: make([]byte, 40)})
		h.carrier(host, &sim.Burst{At: on + tt.behind, Chars: wire})
		h.add(heard(2, 20, 60, frame.Event{Outcome: frame.Noise, Raw: make([]byte, 40), Start: 10, End: 50}))
		got := findings.NotSeen
		for _, f := range h.found().Findings() {
			if f.Rule == findings.Overlap {
				got = f.Verdict
			}
		}
		if got != tt.want {
			t.Errorf("%v behind: %v, want %v", tt.behind.Duration(), got, tt.want)
		}
	}
}
