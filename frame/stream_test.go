package frame_test

import (
	"slices"

	diff "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"looptone/frame"
)

// eventOptions compare events by what they say: an empty slice is no slice, an
// address is a value, a fault is compared with its place.
var eventOptions = diff.Options{
	cmpopts.EquateEmpty(),
	diff.Comparer(func(a, b frame.Address) bool { return a == b }),
	diff.Comparer(func(a, b error) bool {
		x, y := faultOf(a), faultOf(b)
		return x == y || x != nil && y != nil && *x == *y
	}),
}

func faultOf(err error) *frame.FaultError {
	fault, _ := err.(*frame.FaultError)
	return fault
}

// decode feeds a stream in pieces that end at cuts, which ascend, and keeps
// every event.
func decode(chars []byte, marks []frame.MarkAt, bare bool, cuts []int) (events []frame.Event) {
	d := frame.Decoder{Bare: bare}
	from := 0
	for _, to := range append(slices.Clone(cuts), len(chars)) {
		var some []frame.MarkAt
		for _, m := range marks {
			if m.Pos >= int64(from) && m.Pos < int64(to) || to == len(chars) && m.Pos >= int64(from) {
				some = append(some, m)
			}
		}
		d.Feed(slices.Clone(chars[from:to]), some)
		events = appendEvents(events, &d)
		from = to
	}
	d.End()
	return appendEvents(events, &d)
}

func appendEvents(events []frame.Event, d *frame.Decoder) []frame.Event {
	for {
		var ev frame.Event
		if !d.Next(&ev) {
			return events
		}
		ev.Frame, ev.Raw = ev.Frame.Clone(), slices.Clone(ev.Raw)
		if fault := faultOf(ev.Err); fault != nil {
			kept := *fault
			ev.Err = &kept
		}
		events = append(events, ev)
	}
}

// everyCharacter divides a stream of n characters into single ones.
func everyCharacter(n int) (cuts []int) {
	for i := range n {
		cuts = append(cuts, i)
	}
	return cuts
}
