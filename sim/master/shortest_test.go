package master_test

import (
	"slices"
	"testing"

	"looptone/sim"
	"looptone/sim/master"
)

// The shortest time of a round is the sum of its terms, and that is what the line takes.
func TestShortest(t *testing.T) {
	c := config(7, 3)
	c.Latency = 50 * sim.Millisecond
	queries := []master.Query{{Device: at(3), Command: 1}, {Device: at(3), Command: 9, Data: []byte{0, 1, 2, 3}}, {Device: at(3), Command: 20}}
	terms := master.Shortest(queries[:1], 5, c.Latency)
	if want := sim.Tick(aLead + 14*aCharacter + 50*aSecond/1000 + 21*aCharacter + aGrant); terms.Sum() != want {
		t.Errorf("command 1: got %v, want %d ticks", terms, want)
	}
	want := "carrier lead 4.2 ms + preambles of requests 45.8 ms + requests 82.5 ms + latency 50.0 ms + preambles of replies 45.8 ms + " +
		"replies 146.7 ms + carrier tail 2.5 ms + rest of link grant 70.8 ms = 448.3 ms"
	if got := terms.String(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	short := master.Shortest([]master.Query{{Command: 0}}, 5, c.Latency) // in revision 5 a reply has 12 data
	if want := sim.Tick(aLead + 14*aCharacter + 50*aSecond/1000 + (5+9+2+12)*aCharacter + aGrant); short.Sum() != want {
		t.Errorf("command 0: got %v, want %d ticks", short, want)
	}
	queries = slices.Delete(queries, 1, 2) // whose reply need not have four slots
	b := poll(t, &master.Poll{Queries: queries}, c)
	b.until(6)
	talks := b.talks[b.host]
	if got, want := talks[5].on-talks[3].on, master.Shortest(queries, 5, c.Latency).Sum(); got != want {
		t.Errorf("a round takes %d ticks, want %d", got, want)
	}
}
