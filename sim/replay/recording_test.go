package replay

import (
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
)

// A teller makes a recording of frames, as somebody who has listened would.
type teller struct {
	t       *testing.T
	tracker exchange.Tracker
	now     time.Duration
	r       Recording
}

func (l *teller) add() {
	var m exchange.Message
	for l.tracker.Next(&m) {
		l.r.Add(&m)
	}
}

// say has a frame heard, so long behind the one before.
func (l *teller) say(after time.Duration, preambles int, f frame.Frame) {
	l.t.Helper()
	raw, err := f.AppendBinary(nil)
	if err != nil {
		l.t.Fatal(err)
	}
	l.hear(after, &frame.Event{Outcome: frame.Whole, Preambles: preambles, Frame: f, Raw: raw})
}

func (l *teller) hear(after time.Duration, ev *frame.Event) {
	begin := l.now + after
	start := begin + frame.Characters(int64(ev.Preambles))
	end := start + frame.Characters(int64(len(ev.Raw)))
	l.tracker.Follow(0, ev, exchange.Span{Known: true, Begin: begin, Start: start, End: end})
	l.add()
	l.now = end
}

// request is that of the secondary master.
func request(polling, command uint8, data ...byte) frame.Frame {
	return frame.Frame{Kind: frame.STX, Address: frame.Polling(polling), Command: command, Data: data}
}

func replyTo(f frame.Frame, data ...byte) frame.Frame {
	f.Kind, f.Data = frame.ACK, data
	return f
}

// fates are those of the transactions.
func (r *Recording) fates() (list []Fate) {
	for _, t := range r.Transactions {
		list = append(list, t.Fate)
	}
	return list
}

func TestRecordingPairs(t *testing.T) {
	const later = 3 * time.Second
	l := &teller{t: t}
	l.say(later, 7, request(3, 130))
	l.say(60*time.Millisecond, 6, replyTo(request(3, 130), 9))
	l.say(later, 5, request(4, 130)) // unanswered
	l.say(later, 5, request(5, 130)) // answered by damage
	l.hear(60*time.Millisecond, &frame.Event{Outcome: frame.Damaged, Preambles: 5, Raw: make([]byte, 6),
		Frame: replyTo(request(5, 130)), Err: &frame.FaultError{Field: frame.FieldCheckByte, Err: frame.ErrCheckByte}})
	l.say(later, 5, replyTo(request(6, 130))) // without its request
	burst := replyTo(request(6, 130))
	burst.Kind = frame.BACK
	l.say(later, 5, burst)
	l.say(later, 5, request(7, 130))
	l.say(60*time.Millisecond, 5, replyTo(request(6, 130))) // to somebody else
	l.tracker.Part()                                        // the recording ends
	l.add()

	if got, want := l.r.fates(), []Fate{Answered, Silent, Untold, Untold}; len(got) != 4 || [4]Fate(got) != [4]Fate(want) {
		t.Fatalf("fates %v, want %v", got, want)
	}
	first := &l.r.Transactions[0]
	if first.Preambles != 7 || first.ReplyPreambles != 6 || first.After != 60*sim.Millisecond || string(first.Reply.Data) != "\x09" {
		t.Errorf("the first transaction is %+v", first)
	}
	if l.r.Unasked != 2 || l.r.Bursts != 1 {
		t.Errorf("%d replies nobody asked for and %d bursts, want two and one", l.r.Unasked, l.r.Bursts)
	}
}

// TestMastersAreToldApart: a request of one master, before the other one is answered, takes
// nothing from that.
func TestMastersAreToldApart(t *testing.T) {
	l := &teller{t: t}
	first, second := request(3, 130), request(3, 131)
	first.Primary = true
	l.say(0, 5, first)
	l.say(30*time.Millisecond, 5, second)
	l.say(30*time.Millisecond, 5, replyTo(first, 1))
	l.say(30*time.Millisecond, 5, replyTo(second, 2))
	if got := l.r.fates(); len(got) != 2 || got[0] != Answered || got[1] != Answered {
		t.Fatalf("fates %v, want two answered", got)
	}
	if a, b := l.r.Transactions[0].Reply.Data, l.r.Transactions[1].Reply.Data; a[0] != 1 || b[0] != 2 {
		t.Errorf("answers % x and % x, want 01 and 02", a, b)
	}
}
