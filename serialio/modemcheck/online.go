package modemcheck

import (
	"context"
	"time"

	"looptone/frame"
)

// linkGrant is how long a master leaves the line to the other one behind a reply, in
// characters.
//
// Source: FieldComm Group support article 8000040648.
const linkGrant = 8

// Requests makes n requests to devices with those polling addresses that follow from a
// seed. All ask who the device is, with data that a device ignores, so that they are of
// all lengths as those of [Plan] are.
//
// Source: R. Bowden's HART message board, post 2143 (16 May 2009; a receiver ignores data
// that it does not know).
func Requests(seed uint64, n int, polling []uint8) []Message {
	d := newDraw(seed)
	lengths, preambles := d.spread(n, frame.MaxCount+1), d.spread(n, MostPreambles-FewestPreambles+1)
	plan := make([]Message, n)
	for i := range plan {
		to := frame.Polling(polling[d.IntN(len(polling))])
		plan[i] = Message{
			Preambles: FewestPreambles + preambles[i],
			Frame:     request(to, d.bytes(lengths[i])),
			Pause:     max(d.pause(), linkGrant),
		}
	}
	return plan
}

// Line asks a line through a port. What answers talks through the tap of the port at the
// other end; it must do so until Line returns.
func (b *Bench) Line(ctx context.Context, port End, line *Tap, plan []Message) (*Report, error) {
	began := time.Now()
	stop := make(chan struct{})
	l := asking{Bench: b, port: port, ear: listen(port, false, stop), line: line, answers: Answers{Timing: b.Timing}}
	err := l.askAll(ctx, plan)
	close(stop)
	<-l.ear.done
	line.Close()
	if err != nil {
		return nil, err
	}
	there := Compare(l.sent, line.ear.heard(), b.Timing)
	back := Compare(line.said(), l.ear.heard(), b.Timing)
	there.From, there.To = port.Name(), line.Name()
	back.From, back.To = line.Name(), port.Name()
	return &Report{Hookup: OnLine, Took: time.Since(began), Ways: []*Way{there, back}, Answers: l.answers}, nil
}

// asking is a port that asks.
type asking struct {
	*Bench
	port    End
	ear     *ear
	line    *Tap
	sent    []Sent
	answers Answers
}

func (l *asking) askAll(ctx context.Context, plan []Message) error {
	for i := range plan {
		m := &plan[i]
		if err := doze(ctx, time.Duration(m.Pause)*l.Timing.character()); err != nil {
			return err
		}
		if err := l.ask(ctx, m); err != nil {
			return err
		}
	}
	return doze(ctx, mostLate) // for what comes late
}

// ask sends a request, and waits for the end of its reply.
func (l *asking) ask(ctx context.Context, m *Message) error {
	lead := l.Timing.bits(carrierBits)
	s := Sent{At: time.Now().Add(lead), Chars: m.Chars()}
	if err := l.port.Send(ctx, s.At, lead, 0, s.Chars); err != nil {
		return err
	}
	l.sent = append(l.sent, s)
	l.answers.Asked++
	end := s.At.Add(time.Duration(len(s.Chars)) * l.Timing.character())
	deadline := end.Add(l.Timing.mostResponse() + mostLate)
	if err := l.listen(ctx, l.port, l.ear, end, deadline); err != nil {
		return err
	}
	if first, ok := l.ear.firstSince(end, l.Timing.character()); ok {
		l.answers.add(first.Add(-l.Timing.character()).Sub(end))
	}
	return nil
}

// add takes note of how long after its request a reply began.
func (a *Answers) add(d time.Duration) {
	a.Begun++
	a.Longest = max(a.Longest, d)
	if d > a.Timing.mostResponse() {
		a.Late++
	}
}
