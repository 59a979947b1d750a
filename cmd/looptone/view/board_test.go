package view

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"charm.land/lipgloss/v2"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
	"looptone/sim/master"
)

// polled is a board that has heard of so many devices, at the moment of the
// returned clock. All constructed.
func polled(devices int) (*Board, *time.Time) {
	b, now := NewBoard("Fünfzehn µ³", nil), time.Unix(0, 0)
	b.now = func() time.Time { return now }
	schedule := make([]master.Query, devices)
	for i := range schedule {
		schedule[i] = master.Query{Device: master.Target{Address: frame.Unique(0x3902, uint32(i))}, Command: 1}
	}
	b.Expect(schedule, func(t master.Target) string { return fmt.Sprint("FT-", 101+t.Address.DeviceID()) })
	for i := range schedule {
		told(b, &schedule[i], master.Answered, sim.Tick(i)*15*sim.Millisecond, fmt.Sprint("FT-", 101+i))
		now = now.Add(400 * time.Millisecond)
	}
	return b, &now
}

// told has a board told of a reading of command 1: 12.5 m³/h.
func told(b *Board, q *master.Query, outcome master.Outcome, after sim.Tick, name string) {
	r := &master.Reading{Query: q, Name: name, Try: 1, Transaction: &master.Transaction{
		Address: q.Device.Address, Command: q.Command, Outcome: outcome, ResponseTime: after, Occupied: 300 * sim.Millisecond}}
	f := frame.Frame{Kind: frame.STX, Address: q.Device.Address, Command: 1}
	if outcome == master.Answered {
		f = frame.Frame{Kind: frame.ACK, Address: q.Device.Address, Command: 1, Data: []byte{19, 0x41, 0x48, 0, 0}}
	}
	r.Reply = f
	var tracker exchange.Tracker
	var m exchange.Message
	tracker.Follow(0, &frame.Event{Outcome: frame.Whole, Frame: f}, exchange.Span{})
	for tracker.Next(&m) {
	}
	b.Tell(r, &m, name)
}

// plain is lines without what makes them bold or coloured.
func plain(lines []string) (bare []string) {
	for _, line := range lines {
		var b strings.Builder
		for len(line) > 0 {
			if strings.HasPrefix(line, "\x1b[") {
				line = line[strings.IndexByte(line, 'm')+1:]
				continue
			}
			b.WriteByte(line[0])
			line = line[1:]
		}
		bare = append(bare, b.String())
	}
	return bare
}

func TestBoard(t *testing.T) {
	b, now := polled(3)
	first := b.rows[0].query
	told(b, b.rows[1].query, master.Silent, 0, "FT-102")
	told(b, b.rows[2].query, master.Unreadable, 0, "FT-103")
	*now = now.Add(200 * time.Second)
	told(b, first, master.Answered, 250*sim.Millisecond, "FT-101")
	b.Say("loop is open again after 4 s")
	const want = `Fünfzehn µ³  0:03:21

device  cmd  last answer                               lately     after     age
FT-101    1  12.5 m³/h                                       ▁█  250 ms   0.0 s
FT-102    1  does not answer; 12.5 m³/h                      ▁×   15 ms   3 min
FT-103    1  cannot be read; 12.5 m³/h                       ▁≠   30 ms   3 min

6 asked, 4 answered, 1 damaged, 1 silent; 0.0 a second, line in use 1 %
loop is open again after 4 s
▁ soon to █ at the time-out, × silent, ≠ damaged, … busy; q or Ctrl-C ends`
	var got []string
	for _, line := range plain(b.lines(80, 24)) {
		got = append(got, strings.TrimRight(line, " "))
	}
	if text := strings.Join(got, "\n"); text != want {
		t.Errorf("got\n%s\nwant\n%s", text, want)
	}
}

// Whatever the size of the terminal, and whatever a device is called and says, no
// line is as wide as the terminal and none is too many; columns stand below each
// other.
func TestBoardFitsEveryTerminal(t *testing.T) {
	names := []string{"FT-1", "Durchfluß µ³ hinter dem dritten Filter", "漏斗流量計", "", "\x1b[2J\x9bJ\tbell\a", "e\u0301tage"}
	for _, size := range [][2]int{{0, 0}, {1, 1}, {10, 3}, {40, 10}, {79, 24}, {80, 24}, {120, 30}, {200, 50}, {500, 200}} {
		b, _ := polled(15)
		for i, name := range names {
			told(b, b.rows[i].query, master.Answered, sim.Tick(i)*sim.Millisecond, name)
		}
		b.Say(strings.Repeat("something that a person should know, ", 20))
		lines := b.lines(size[0], size[1])
		if len(lines) > max(1, size[1]) {
			t.Errorf("%v: %d lines", size, len(lines))
		}
		for _, line := range lines {
			if w := lipgloss.Width(line); w >= max(1, size[0]) {
				t.Errorf("%v: %d columns: %q", size, w, line)
			}
		}
		for _, line := range plain(lines) {
			if strings.ContainsFunc(line, func(r rune) bool { return r < ' ' || r >= 0x7f && r < 0xa0 }) {
				t.Errorf("%v: moves on the terminal: %q", size, line)
			}
		}
	}
}

// Where the terminal has no room for all rows, the board says how many are left out.
func TestBoardSaysHowManyRowsAreLeftOut(t *testing.T) {
	b, _ := polled(15)
	text := strings.Join(plain(b.lines(80, 14)), "\n")
	rows := strings.Count(text, "FT-1")
	if left := fmt.Sprintf("%d rows more in a higher window", 15-rows); rows < 5 || !strings.Contains(text, left) {
		t.Errorf("%d rows, want %q in\n%s", rows, left, text)
	}
}
