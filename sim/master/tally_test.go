package master_test

import (
	"testing"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// How long requests and replies had the line: 5 bits, the characters, 3 bits, each.
func TestPollOccupied(t *testing.T) {
	b := poll(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1}}, Rounds: 10}, config(7, 3))
	b.until(11)
	const carriers = 2 * (aLead + aTail)
	want := sim.Tick(25+34+15)*aCharacter - 15*aCharacter + carriers + 10*((14+21)*aCharacter+carriers)
	if got := b.tally("", -1); got.Occupied != want || got.Last != b.Now() || got.Asked != 11 {
		t.Errorf("got %+v, want occupied %d and last %d", got, want, b.Now())
	}
	var carried sim.Tick
	for _, talks := range b.talks {
		for _, s := range talks {
			carried += s.off - s.on
		}
	}
	if carried != want {
		t.Errorf("carriers were on for %d ticks, want %d", carried, want)
	}
}

// What comes in place of a reply has the line too.
func TestPollOccupiedByDamage(t *testing.T) {
	b := pollSlave(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1}}, Retries: 2, Rounds: 1},
		func(int, *frame.Frame) []byte { return garbage() })
	b.until(3)
	b.Run(b.Now() + sim.Second)
	var carried sim.Tick
	for _, talks := range b.talks {
		for _, s := range talks {
			carried += s.off - s.on
		}
	}
	if got := b.tally("", -1); got.Damaged != 3 || got.Occupied != carried {
		t.Errorf("got %+v, want 3 damaged and occupied %d", got, carried)
	}
}

// Every request that went on the line is in the counts, once in each sum, at every
// moment.
func TestPollCountsEveryRequest(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := &master.Poll{Retries: rapid.IntRange(0, 10).Draw(r, "retries"), Rounds: rapid.IntRange(0, 3).Draw(r, "rounds")}
		for range rapid.IntRange(1, 6).Draw(r, "queries") {
			p.Queries = append(p.Queries, master.Query{
				Device:  at(rapid.Uint8Range(0, 3).Draw(r, "polling")),
				Command: rapid.SampledFrom([]uint16{0, 1, 2, 3, 300}).Draw(r, "command"),
				Every:   sim.Tick(rapid.SampledFrom([]int{0, 0, 1, 3}).Draw(r, "every")) * sim.Second,
			})
		}
		answers := rapid.SliceOfN(rapid.IntRange(0, 5), 1, 50).Draw(r, "answers")
		b := &bench{t: t, watched: watch(sim.NewLine(1)), poll: p}
		m := master.New(master.Config{Primary: rapid.Bool().Draw(r, "primary")}, p.Run)
		defer m.Close()
		b.host = b.Join(m)
		b.Join(&slave{answer: func(n int, f *frame.Frame) []byte {
			switch answers[n%len(answers)] {
			case 0:
				return nil
			case 1:
				return garbage()
			case 2:
				return ack(f, 32)
			case 3:
				return ack(f, 0x88)
			}
			return ack(f, 0)
		}})
		for range 10 {
			b.Run(b.Now() + sim.Tick(rapid.Int64Range(0, 20*int64(sim.Second)).Draw(r, "run")))
			checkCounts(r, p.Tallies(), int64(len(b.talks[b.host])))
		}
	})
}

func checkCounts(t *rapid.T, tallies []master.Tally, requests int64) {
	var commands, device, all master.Tally
	plus := func(to *master.Tally, n master.Tally) {
		to.Asked += n.Asked
		to.Answered += n.Answered
		to.Damaged += n.Damaged
		to.Silent += n.Silent
		to.Busy += n.Busy
		to.Retries += n.Retries
		to.Response.Count += n.Response.Count
		to.Occupied += n.Occupied
	}
	same := func(what string, got, want master.Tally) {
		var bare master.Tally
		plus(&bare, got)
		if bare != want {
			t.Fatalf("%s: got %+v, want the sum %+v", what, bare, want)
		}
	}
	for i, n := range tallies {
		if underWay := n.Asked - n.Answered - n.Damaged - n.Silent - n.Busy; underWay < 0 || underWay > 1 {
			t.Fatalf("%+v: %d under way, want 0 or 1", n, underWay)
		}
		switch {
		case i == len(tallies)-1:
			same("all", n, all)
			if n.Asked != requests {
				t.Fatalf("asked %d times, and %d requests were on the line", n.Asked, requests)
			}
		case n.Command == -1:
			same("device "+n.Name, n, commands)
			plus(&device, n)
			commands, all = master.Tally{}, device
		default:
			plus(&commands, n)
		}
	}
}
