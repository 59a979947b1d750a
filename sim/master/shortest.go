package master

import (
	"fmt"
	"strings"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
)

// A Term is a part of a time, and what it is spent on.
type Term struct {
	What  string
	Ticks sim.Tick
}

// Terms are a time as a sum.
type Terms []Term

// Sum is the whole time.
func (t Terms) Sum() (sum sim.Tick) {
	for _, term := range t {
		sum += term.Ticks
	}
	return sum
}

// String is the sum written out, in milliseconds.
func (t Terms) String() string {
	parts := make([]string, len(t))
	for i, term := range t {
		parts[i] = fmt.Sprintf("%s %s", term.What, milliseconds(term.Ticks))
	}
	return strings.Join(parts, " + ") + " = " + milliseconds(t.Sum())
}

func milliseconds(t sim.Tick) string { return fmt.Sprintf("%.1f ms", 1000*t.Seconds()) }

// Shortest is how long one round of a schedule takes at least: each query is asked
// once, nobody else talks, nothing is damaged, and each reply begins latency behind
// its request and has as few data as the command allows. That many preambles stand
// in front of requests and replies.
func Shortest(queries []Query, preambles int, latency sim.Tick) Terms {
	n := sim.Tick(len(queries))
	var request, reply sim.Tick
	for i := range queries {
		q := &queries[i]
		asked := frame.Frame{Kind: frame.STX, Address: frame.Broadcast}
		asked.SetNumber(q.Command, q.Data)
		answered := frame.Frame{Kind: frame.ACK, Address: frame.Broadcast}
		answered.SetNumber(q.Command, make([]byte, leastReply(q.Command)))
		request += charactersOf(&asked)
		reply += charactersOf(&answered)
	}
	return Terms{
		{"carrier lead", n * sim.CarrierLead},
		{"preambles of requests", n * sim.Tick(preambles) * sim.Character},
		{"requests", request},
		{"latency", n * latency},
		{"preambles of replies", n * sim.Tick(preambles) * sim.Character},
		{"replies", reply},
		{"carrier tail", n * sim.CarrierTail},
		{"rest of link grant", n * (sim.LinkGrant - sim.CarrierTail)},
	}
}

// charactersOf is how long a frame takes without its preambles; 0 for one that
// cannot be sent.
func charactersOf(f *frame.Frame) sim.Tick {
	chars, _ := f.AppendBinary(nil)
	return sim.Tick(len(chars)) * sim.Character
}

// leastReply is how many data the shortest reply to a command has, in whatever
// revision; 0 where that is not known.
func leastReply(command uint16) int {
	def, ok := payload.Lookup(command)
	if !ok || len(def.Reply) == 0 {
		return 0
	}
	least := def.Reply[0].MinLen()
	for i := range def.Reply {
		least = min(least, def.Reply[i].MinLen())
	}
	return least
}
