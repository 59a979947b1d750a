package view_test

import (
	"testing"

	"looptone/cmd/looptone/view"
	"looptone/frame"
)

// The lines of a plain conversation cost no memory once the buffer has its size.
// The race detector allocates on its own, so the name keeps this test out of its
// pass. All frames but the first two are constructed.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
func TestAllocationsOfPlainLines(t *testing.T) {
	for name, f := range map[string]frame.Frame{
		"request":               request(frame.Polling(0), 1, ""),
		"reply":                 reply(frame.Polling(0), 1, "39 41 c8 00 00"),
		"reply without a value": reply(three, 1, "39 7f a0 00 00"),
		"error reply":           answered(reply(three, 1, ""), 32, 0),
		"identity":              reply(three, 0, identity5),
		"unknown command":       request(three, 146, "01 42 48 00 00"),
	} {
		c := conversation{t: t}
		m := c.say(f, nil)
		line := view.AppendJSON(nil, m, 0, nil)
		if n := testing.AllocsPerRun(100, func() { line = view.AppendJSON(line[:0], m, 0, nil) }); n != 0 {
			t.Errorf("%s: %v allocations a line", name, n)
		}
	}
}
