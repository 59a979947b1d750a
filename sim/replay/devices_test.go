package replay

import (
	"bytes"
	"testing"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

// ask has a master ask the devices for the requests of transactions.
func ask(t *testing.T, d *Devices, primary bool, preambles int, asked []*Transaction) (got []*master.Transaction) {
	t.Helper()
	line := sim.NewLine(1)
	line.Join(d)
	m := master.New(master.Config{Primary: primary}, func(yield func(*master.Transaction) bool) {
		for _, a := range asked {
			x := a.again()
			x.Preambles = preambles
			if got = append(got, x); !yield(x) {
				return
			}
		}
	})
	defer m.Close()
	line.Join(m)
	for !m.Done() && line.Next() != sim.Never {
		line.Run(line.Next())
	}
	if m.Err() != nil {
		t.Fatal(m.Err())
	}
	return got
}

func answered(f frame.Frame, after sim.Tick, data ...byte) Transaction {
	return Transaction{Request: f, Fate: Answered, Reply: replyTo(f, data...), ReplyPreambles: 5, After: after}
}

// refs are pointers to transactions.
func refs(list []Transaction) (p []*Transaction) {
	for i := range list {
		p = append(p, &list[i])
	}
	return p
}

func TestReplyIsTheRecordedOne(t *testing.T) {
	recorded := answered(request(3, 130, 1), 70*sim.Millisecond, 9, 8)
	recorded.Request.Burst = true // which is not asked for again
	recorded.Reply.Status = frame.Status{Response: 8, Device: frame.ColdStart}
	r := &Recording{Transactions: []Transaction{recorded}}
	for _, primary := range []bool{false, true} {
		for _, preambles := range []int{2, 5, 20} {
			x := ask(t, NewDevices(r), primary, preambles, refs(r.Transactions))[0]
			want := recorded.Reply
			want.Primary = primary
			a, _ := x.Reply.AppendBinary(nil)
			b, _ := want.AppendBinary(nil)
			if x.Outcome != master.Answered || !bytes.Equal(a, b) {
				t.Errorf("primary %v, %d preambles: got % x, want % x", primary, preambles, a, b)
			}
			if x.ResponseTime != recorded.After {
				t.Errorf("the reply came after %d ticks, want %d as recorded", x.ResponseTime, recorded.After)
			}
		}
	}
}

// TestFastIsAllowed: a reply as fast as allowed never talks into the carrier of its request,
// and comes within a character: where that is wanted, and where no time is recorded.
func TestFastIsAllowed(t *testing.T) {
	for _, test := range []struct {
		fast  bool
		after sim.Tick
	}{{true, 200 * sim.Millisecond}, {false, 0}, {false, sim.Bit}} {
		r := &Recording{Transactions: []Transaction{answered(request(3, 130), test.after)}}
		d := NewDevices(r)
		d.Fast = test.fast
		x := ask(t, d, true, 5, refs(r.Transactions))[0]
		if x.Outcome != master.Answered || x.ResponseTime < sim.CarrierTail+sim.CarrierLead || x.ResponseTime > sim.Character {
			t.Errorf("%+v: outcome %d after %d ticks", test, x.Outcome, x.ResponseTime)
		}
	}
}

func TestPreamblesOfReplies(t *testing.T) {
	for recorded, want := range map[int]int{0: 5, 1: 5, 2: 2, 7: 7} {
		x := answered(request(3, 130), 0)
		x.ReplyPreambles = recorded
		b := NewDevices(&Recording{}).reply(0, 0, &x, true)
		if got := bytes.IndexFunc(b.Chars, func(r rune) bool { return r == 0x06 }); got != want {
			t.Errorf("%d recorded: % x has %d preambles, want %d", recorded, b.Chars, got, want)
		}
	}
}

func TestSilence(t *testing.T) {
	silent := Transaction{Request: request(4, 130), Fate: Silent}
	untold := Transaction{Request: request(5, 130)}
	r := &Recording{Transactions: []Transaction{silent, untold}}
	strangers := []Transaction{
		{Request: request(6, 130)},    // another address
		{Request: request(4, 131)},    // another command
		{Request: request(4, 130, 1)}, // other data
	}
	d := NewDevices(r)
	var unknown, known int
	d.Tell = func(a *Asked) {
		if a.Transaction == nil {
			unknown++
		} else {
			known++
		}
	}
	for _, x := range ask(t, d, true, 5, append(refs(r.Transactions), refs(strangers)...)) {
		if x.Outcome != master.Silent {
			t.Errorf("polling address %v, command %d: outcome %d, want silence", x.Address, x.Command, x.Outcome)
		}
	}
	if unknown != 3 || known != 2 {
		t.Errorf("told of %d unknown requests and %d known ones, want 3 and 2", unknown, known)
	}
}

// TestAnswersBeginAgain: of four recorded answers, one of them unknown and one silence,
// three come in turn, and then the first again, which is told.
func TestAnswersBeginAgain(t *testing.T) {
	f := request(3, 130)
	r := &Recording{Transactions: []Transaction{
		answered(f, 0, 1), {Request: f, Fate: Silent}, {Request: f}, answered(f, 0, 3),
	}}
	d := NewDevices(r)
	var again []bool
	d.Tell = func(a *Asked) { again = append(again, a.Round == 1 && a.First) }
	var five []*Transaction
	for range 5 {
		five = append(five, &r.Transactions[0])
	}
	want := []string{"\x01", "", "\x03", "\x01", ""}
	for i, x := range ask(t, d, true, 5, five) {
		if string(x.Reply.Data) != want[i] {
			t.Errorf("answer %d is % x, want % x", i, x.Reply.Data, want[i])
		}
		if again[i] != (i == 3) {
			t.Errorf("answer %d: begins again: %v", i, again[i])
		}
	}
}

// TestWhoIsAboutToAnswerDoesNotListen: a request that comes before a late reply is told
// as unheard, and the reply comes all the same.
func TestWhoIsAboutToAnswerDoesNotListen(t *testing.T) {
	r := &Recording{Transactions: []Transaction{answered(request(3, 130), 2*sim.Second, 1)}}
	d := NewDevices(r)
	unheard := 0
	d.Tell = func(a *Asked) {
		if a.Unheard {
			unheard++
		}
	}
	got := ask(t, d, true, 5, append(refs(r.Transactions), refs(r.Transactions)...))
	if unheard != 1 || got[0].Outcome != master.Silent {
		t.Errorf("%d requests unheard, the first with outcome %d; want one, and silence", unheard, got[0].Outcome)
	}
}

// TestEveryRequestGetsItsAnswersInOrder plays random recordings in another order: what
// each request gets is what it got, one after the other, whatever is asked in between.
func TestEveryRequestGetsItsAnswersInOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := &Recording{}
		var want = map[string][]*Transaction{}
		for i := range rapid.IntRange(1, 30).Draw(rt, "transactions") {
			f := request(rapid.Uint8Range(0, 2).Draw(rt, "polling"), rapid.Uint8Range(130, 131).Draw(rt, "command"),
				rapid.SliceOfN(rapid.Byte(), 0, 1).Draw(rt, "data")...)
			f.Primary = rapid.Bool().Draw(rt, "master")
			x := Transaction{Request: f, Fate: Silent}
			if rapid.Bool().Draw(rt, "answered") {
				x = answered(f, sim.Ticks(0)+sim.Tick(rapid.IntRange(0, 250).Draw(rt, "ms"))*sim.Millisecond, byte(i))
			}
			r.Transactions = append(r.Transactions, x)
		}
		var order []*Transaction
		for i := range r.Transactions {
			x := &r.Transactions[i]
			want[keyText(&x.Request)] = append(want[keyText(&x.Request)], x)
			order = append(order, x)
		}
		order = rapid.Permutation(append(order, order...)).Draw(rt, "order")
		for i, got := range ask(t, NewDevices(r), rapid.Bool().Draw(rt, "asker"), 5, order) {
			key := keyText(&order[i].Request)
			next := want[key][0]
			want[key] = append(want[key][1:], next)
			if (got.Outcome == master.Answered) != (next.Fate == Answered) || !bytes.Equal(got.Reply.Data, next.Reply.Data) {
				rt.Fatalf("request %d: outcome %d with % x, want fate %d with % x", i, got.Outcome, got.Reply.Data, next.Fate, next.Reply.Data)
			}
		}
	})
}

// keyText is what makes a request the same.
func keyText(f *frame.Frame) string {
	return f.Address.String() + " " + string(rune(f.Command)) + string(f.Data)
}
