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
		"unique address":        reply(device5, 3, "40 80 00 00 0c 41 c7 47 ae"),
		"device status":         answered(reply(three, 1, "39 41 c8 00 00"), 0, frame.ColdStart|frame.LoopCurrentFixed),
		"communication errors":  answered(reply(three, 1, ""), frame.VerticalParity.Response(), 0),
		"texts and a date":      reply(three, 13, "31 4b 71 c3 38 20 4d 02 05 48 58 20 82 08 20 82 08 20 01 03 83"),
		"flags":                 reply(three, 9, "00 f6 40 20 41 c8 00 00 c0 00 00 00 20"),
		"request":               request(frame.Polling(0), 1, ""),
		"reply":                 reply(frame.Polling(0), 1, "39 41 c8 00 00"),
		"reply without a value": reply(three, 1, "39 7f a0 00 00"),
		"error reply":           answered(reply(three, 1, ""), 32, 0),
		"identity":              reply(three, 0, identity5),
		"unknown command":       request(three, 146, "01 42 48 00 00"),
	} {
		c := conversation{t: t}
		m := c.say(f, nil)
		var lines view.JSON
		line := lines.Append(nil, m, nil)
		if n := testing.AllocsPerRun(100, func() { line = lines.Append(line[:0], m, nil) }); n != 0 {
			t.Errorf("%s: %v allocations a line", name, n)
		}
	}
}
