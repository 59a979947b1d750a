package master_test

import (
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// Once all that a poll asks is known, it works in the memory that it has.
func TestAllocationsOfAPoll(t *testing.T) {
	told := 0
	p := master.Poll{Retries: 3, Tell: func(*master.Reading) { told++ }}
	for _, n := range []uint16{1, 2, 3} {
		p.Queries = append(p.Queries, master.Query{Device: at(3), Command: n})
	}
	p.Queries = append(p.Queries, master.Query{Device: at(3), Command: 9, Data: []byte{0, 1}, Every: 3 * sim.Second})
	m := master.New(master.Config{Primary: true}, p.Run)
	defer m.Close()
	_, now := m.Step(0, nil)
	heard := make([]sim.Heard, 1)
	room := make([]byte, 0, 300)
	transaction := func() {
		b, wake := m.Step(now, nil)
		if b == nil {
			t.Fatalf("sent nothing at %d", now)
		}
		request, err := frame.Parse(b.Chars[preambles(b.Chars):])
		if err != nil {
			t.Fatal(err)
		}
		if told%7 == 6 { // nobody answers
			now = wake
			return
		}
		end := b.Start(len(b.Chars)) + 40*sim.Character
		reply := request
		reply.Kind = frame.ACK
		reply.Data = room[:20]
		if request.Command == 0 {
			reply.Data = append(room[:0], 254, 0xf9, 1, 5, 7, 1, 1, 8, 0, 0, 0, 7, 5, 4, 0, 0, 0, 0, 0xf9, 0, 0xf9, 1)
		}
		heard[0] = sim.Heard{At: end, Begin: end - 30*sim.Character, End: end, Event: frame.Event{Outcome: frame.Whole, Frame: reply}}
		_, now = m.Step(end, heard)
	}
	for range 100 {
		transaction()
	}
	before := told
	if n := testing.AllocsPerRun(1000, transaction); n != 0 {
		t.Errorf("%g allocations a transaction, want none", n)
	}
	if told < before+1000 {
		t.Errorf("%d readings told, want one a transaction", told-before)
	}
	all := p.Tallies()
	if sum := all[len(all)-1]; sum.Asked != int64(told) || sum.Silent == 0 || sum.Answered == 0 {
		t.Errorf("got %+v of %d readings, want some answered and some silent", sum, told)
	}
}

func preambles(chars []byte) (n int) {
	for chars[n] == 0xff {
		n++
	}
	return n
}
