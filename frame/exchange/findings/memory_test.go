package findings_test

import "testing"

// A conversation without a fault costs no memory, with times or without. The race
// detector allocates on its own, so the name keeps this test out of its pass.
func TestAllocations(t *testing.T) {
	ask, say := request(level, 1, ""), reply(level, 1, "2d 40 0d ac 08")
	for _, untimed := range []bool{false, true} {
		c := converse(t, direct)
		c.untimed = untimed
		c.begin()
		round := func() {
			c.say(78*ms, 5, ask)
			c.say(50*ms, 5, say)
			c.say(10*ms, 5, secondary(ask))
			c.say(50*ms, 5, secondary(say))
			c.say(10*ms, 5, ask)
			c.say(310*ms, 5, ask)
			c.say(50*ms, 5, say)
		}
		for range 20 {
			round()
		}
		if n := testing.AllocsPerRun(100, round); n != 0 {
			t.Errorf("%v allocations in 7 messages, untimed %v", n, untimed)
		}
		c.wants()
	}
}
