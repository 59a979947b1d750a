package sim

import (
	"testing"

	"looptone/frame"
)

// A responder answers command 0 at its polling address.
type responder struct {
	polling uint8
	reply   []byte
	burst   Burst
}

func (r *responder) Step(_ Tick, heard []Heard) (*Burst, Tick) {
	for i := range heard {
		f := &heard[i].Event.Frame
		if n, ok := f.Address.IsPolling(); heard[i].Event.Outcome == frame.Whole && f.Kind == frame.STX && ok && n == r.polling {
			r.burst = Burst{At: heard[i].End + 40*Millisecond, Lead: CarrierLead, Tail: CarrierTail, Chars: r.reply}
			return &r.burst, Never
		}
	}
	return nil, Never
}

// An asker asks one polling address after the other, as soon as it may.
type asker struct {
	requests [][]byte
	next     int
	burst    Burst
	turn     Tick
	busy     bool
}

func (a *asker) Step(now Tick, heard []Heard) (*Burst, Tick) {
	for i := range heard {
		if heard[i].Carrier == 0 {
			a.turn = heard[i].End + LinkGrant
		} else {
			a.busy = heard[i].Carrier > 0
		}
	}
	switch {
	case a.busy:
		return nil, Never
	case now < a.turn:
		return nil, a.turn
	}
	a.burst = Burst{At: now, Lead: CarrierLead, Tail: CarrierTail, Chars: a.requests[a.next%len(a.requests)]}
	a.next++
	a.turn = a.burst.Off() + LinkQuietPrimary
	return &a.burst, a.turn
}

// respond puts n responders on a line, and gives who asks them all.
func respond(t testing.TB, l *Line, n uint8) *asker {
	t.Helper()
	a := &asker{}
	for i := range n {
		rep := frame.Frame{Kind: frame.ACK, Address: frame.Polling(i), Primary: true, Data: make([]byte, 22)}
		reply, err := rep.AppendBinary(frame.AppendPreambles(nil, 5))
		if err != nil {
			t.Fatal(err)
		}
		req := frame.Frame{Kind: frame.STX, Address: frame.Polling(i), Primary: true}
		request, err := req.AppendBinary(frame.AppendPreambles(nil, 5))
		if err != nil {
			t.Fatal(err)
		}
		a.requests = append(a.requests, request)
		l.Join(&responder{polling: i, reply: reply})
	}
	return a
}

// BenchmarkLine carries command 0 and its replies between a master and 15 stations
// that do nothing else: what the line itself costs.
func BenchmarkLine(b *testing.B) { benchmarkLine(b, nil) }

// BenchmarkLineLevels is the same where a level is asked for everybody.
func BenchmarkLineLevels(b *testing.B) {
	benchmarkLine(b, func(_, _ *Seat) float32 { return 1 })
}

func benchmarkLine(b *testing.B, share func(talker, listener *Seat) float32) {
	l := NewLine(1)
	l.Levels(share)
	a := respond(b, l, 15)
	l.Join(a)
	b.ReportAllocs()
	for b.Loop() {
		l.Run(l.Now() + 60*Second)
	}
	b.ReportMetric(60/(b.Elapsed().Seconds()/float64(b.N)), "x-real-time")
	if a.next < 100*b.N {
		b.Errorf("%d requests in %d minutes, want two a second", a.next, b.N)
	}
}
