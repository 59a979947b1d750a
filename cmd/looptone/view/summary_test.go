package view_test

import (
	"strings"
	"testing"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
)

// TestSummaryWithTimes counts two transactions of 100 ms each, answered behind 40
// and 60 ms, within two seconds, and a request that stays without a reply.
func TestSummaryWithTimes(t *testing.T) {
	var tracker exchange.Tracker
	var counts exchange.Statistics
	say := func(f frame.Frame, begin, length time.Duration) {
		wire, err := f.AppendBinary([]byte{0xff, 0xff, 0xff, 0xff, 0xff})
		if err != nil {
			t.Fatal(err)
		}
		var d frame.Decoder
		var ev frame.Event
		d.Feed(wire, nil)
		d.Next(&ev)
		tracker.Follow(0, &ev, exchange.Span{Known: true, Begin: begin, Start: begin, End: begin + length})
		var m exchange.Message
		for tracker.Next(&m) {
			counts.Add(&m)
		}
	}
	const ms = time.Millisecond
	say(request(three, 1, ""), 0, 100*ms)
	say(reply(three, 1, "39 41 c8 00 00"), 140*ms, 200*ms)
	say(request(three, 1, ""), 500*ms, 100*ms)
	say(reply(three, 1, "39 41 c8 00 00"), 660*ms, 200*ms)
	say(request(three, 1, ""), 1000*ms, 100*ms)
	say(request(three, 1, ""), 1900*ms, 100*ms)

	got := view.Summary(&counts)
	// 4 requests of 10 characters and 2 replies of 17 are 74 characters, 0.678 s of 2 s.
	for _, want := range []string{
		"74 characters on the line, in use 33.9 % of 2s\n",
		"4 requests: 4 of the primary master, 0 of the secondary\n",
		"2 answered, 1 unanswered, 1 whose reply may not be in the capture, 1 asked again\n",
		"response times 40 to 60 ms, median 40, 95 % within 60, 99 % within 60\n",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}
