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

// A division feeds a stream in pieces that end at cuts, which ascend. What
// stands before a piece's first character is fed with it, or early: with the
// piece before, a Cut by End.
type division struct {
	cuts  []int
	early bool
}

// decode feeds a whole stream and keeps every event.
func decode(chars []byte, marks []frame.MarkAt, bare bool, by division) (events []frame.Event) {
	d := frame.Decoder{Bare: bare}
	from := 0
	for _, to := range append(slices.Clone(by.cuts), len(chars)) {
		last := to == len(chars)
		var piece []frame.MarkAt
		for len(marks) > 0 && (marks[0].Pos < int64(to) || last) {
			piece, marks = append(piece, marks[0]), marks[1:]
		}
		d.Feed(slices.Clone(chars[from:to]), piece)
		if by.early && !last && len(marks) > 0 && marks[0].Pos == int64(to) {
			marks = feedEarly(&d, marks)
		}
		events = appendEvents(events, &d)
		from = to
	}
	d.End()
	return appendEvents(events, &d)
}

// feedEarly feeds the first of marks, which stands behind the last character,
// and gives back what of it belongs to the next.
func feedEarly(d *frame.Decoder, marks []frame.MarkAt) []frame.MarkAt {
	const before = frame.Gap | frame.Line
	m := marks[0]
	if m.Mark&before != 0 {
		d.Feed(nil, []frame.MarkAt{{Pos: m.Pos, Mark: m.Mark & before}})
	}
	if m.Mark&frame.Cut != 0 {
		d.End()
	}
	rest := frame.MarkAt{Pos: m.Pos, Mark: m.Mark &^ (before | frame.Cut)}
	return append([]frame.MarkAt{rest}, marks[1:]...)
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
