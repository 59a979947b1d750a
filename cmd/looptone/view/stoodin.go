package view

import (
	"fmt"
	"strings"
	"time"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/replay"
)

// StoodIn is what recorded devices have been asked. The zero StoodIn is ready.
type StoodIn struct {
	Replies, Silences int64 // that were recorded, and given again
	Unheard           int64 // requests that came before a reply was over

	strange []strange // requests that were not recorded, in the order in which they came
	index   map[string]int
}

// strange is a request that was not recorded.
type strange struct {
	text string
	n    int64
}

// AskedSentence says in one line what is worth to be told of a request to recorded
// devices; "" for nothing. device is what the recording calls the device, "" where it
// does not; definition is what is known of the command, nil for nothing.
func AskedSentence(a *replay.Asked, device string, definition *payload.Definition) string {
	var p prose
	switch {
	case a.Unheard:
		p.say("not heard, for a reply was under way: ")
	case a.Transaction == nil:
		p.say("not recorded, so nobody answers: ")
	case a.Transaction.Fate == replay.Untold:
		p.say("the recording does not have the answer, so there is none: ")
	case a.Round == 1 && a.First:
		p.say("all recorded answers were given, and begin again: ")
	default:
		return ""
	}
	p.asked(a.Request, definition, device)
	if a.Transaction == nil && len(a.Request.Data) > 0 {
		p.say("  data ")
		p.hex(a.Request.Data)
	}
	return string(p.b)
}

// AppendAsked writes the same as one object; it gives dst where there is nothing to be
// told.
func AppendAsked(dst []byte, a *replay.Asked, definition *payload.Definition) []byte {
	var event string
	switch {
	case a.Unheard:
		event = "unheard"
	case a.Transaction == nil:
		event = "not_recorded"
	case a.Transaction.Fate == replay.Untold:
		event = "answer_not_recorded"
	case a.Round == 1 && a.First:
		event = "again"
	default:
		return dst
	}
	o := object{b: append(dst, '{')}
	o.plain(`"event":`, event)
	o.seconds(`"time":`, a.At.Duration())
	o.askedOf(a.Request, definition)
	return append(o.b, '}')
}

// Add counts a request.
func (s *StoodIn) Add(a *replay.Asked, definition *payload.Definition) {
	switch t := a.Transaction; {
	case a.Unheard:
		s.Unheard++
	case t == nil:
		s.addStrange(a.Request, definition)
	case t.Fate == replay.Answered:
		s.Replies++
	default:
		s.Silences++
	}
}

// mostStrange are the most requests that are told apart; a host that runs through all
// addresses and commands must not fill the memory.
const mostStrange = 1024

func (s *StoodIn) addStrange(f *frame.Frame, definition *payload.Definition) {
	var p prose
	p.asked(f, definition, "")
	if len(f.Data) > 0 {
		p.say("  data ")
		p.hex(f.Data)
	}
	i, known := s.index[string(p.b)]
	switch {
	case !known && len(s.strange) == mostStrange:
		i = mostStrange - 1
		s.strange[i].text = "others"
	case !known:
		if s.index == nil {
			s.index = map[string]int{}
		}
		i = len(s.strange)
		s.index[string(p.b)] = i
		s.strange = append(s.strange, strange{text: string(p.b)})
	}
	s.strange[i].n++
}

// Strange is how many requests were not recorded.
func (s *StoodIn) Strange() (n int64) {
	for _, u := range s.strange {
		n += u.n
	}
	return n
}

// String says it in lines.
func (s *StoodIn) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s as recorded, %s\n", many(s.Replies, "reply", "replies"), many(s.Silences, "silence", "silences"))
	if s.Unheard > 0 {
		fmt.Fprintf(&b, "%s not heard, for a reply was under way\n", many(s.Unheard, "request was", "requests were"))
	}
	if n := s.Strange(); n > 0 {
		fmt.Fprintf(&b, "%s not recorded, and nobody answered:\n", many(n, "request was", "requests were"))
	}
	for _, u := range s.strange {
		fmt.Fprintf(&b, "  %d × %s\n", u.n, u.text)
	}
	return b.String()
}

// Append writes it as one object.
func (s *StoodIn) Append(dst []byte) []byte {
	o := object{b: append(dst, `{"event":"stood_in"`...)}
	o.int(`"replies":`, s.Replies)
	o.int(`"silences":`, s.Silences)
	o.int(`"unheard":`, s.Unheard)
	o.int(`"not_recorded":`, s.Strange())
	return append(o.b, '}')
}

// RecordingSentence says what a recording has, and what of it does not go on.
func RecordingSentence(r *replay.Recording) string {
	text := fmt.Sprintf("%s, %d answered, %d unanswered", many(int64(len(r.Transactions)), "request", "requests"),
		r.Count(replay.Answered), r.Count(replay.Silent))
	if n := r.Count(replay.Untold); n > 0 {
		text += fmt.Sprintf(", %d whose answer is not recorded", n)
	}
	if rest := tally([]counted{{r.Unasked, "replies without their request"}, {r.Bursts, "bursts"}}); rest != "" {
		text += "; left out: " + rest
	}
	return text
}

// At is a moment of line time as it stands in front of a sentence.
func At(t sim.Tick) string {
	return fmt.Sprintf("%9.3f s  ", t.Duration().Round(time.Microsecond).Seconds())
}
