package modemcheck

import (
	"fmt"
	"time"
)

// A Hookup is how the modem under test is connected.
type Hookup uint8

const (
	LoopedBack Hookup = iota // one port hears what it sends
	TwoPorts                 // now the one sends and now the other
	OnLine                   // a port asks, a line behind a second port answers
)

var hookupNames = [...]string{LoopedBack: "one port looped back", TwoPorts: "two ports", OnLine: "a port and a line that answers"}

func (h Hookup) String() string { return hookupNames[h] }

// A Report is what a test came to.
type Report struct {
	Hookup  Hookup
	Seed    uint64
	Took    time.Duration
	Ways    []*Way
	Answers Answers
}

// Answers are the replies that the asking port heard on a line.
type Answers struct {
	Asked, Begun int // requests, and those behind which something was heard
	Late         int // of those, later than the slave time-out
	Longest      time.Duration
	Timing       Timing
}

// Verdicts are of all limits, in the order of [Limits], each for every way that it is one
// of.
func (r *Report) Verdicts() (all []Verdict) {
	byLimit := map[string][]Verdict{}
	for _, w := range r.Ways {
		for _, v := range w.Judge() {
			byLimit[v.Name] = append(byLimit[v.Name], v)
		}
	}
	byLimit["slave time-out"] = []Verdict{r.judgeAnswers()}
	for _, name := range [...]string{"tones", "carrier detection"} {
		byLimit[name] = []Verdict{unseen(name, "it takes the waveform, and a port has only characters")}
	}
	for _, l := range Limits {
		all = append(all, byLimit[l.Name]...)
	}
	return all
}

// OK reports whether no limit is broken.
func (r *Report) OK() bool {
	for _, v := range r.Verdicts() {
		if v.Finding == Broken {
			return false
		}
	}
	return true
}

func (r *Report) judgeAnswers() Verdict {
	a := &r.Answers
	switch {
	case r.Hookup != OnLine:
		return unseen("slave time-out", "there is no device to reply")
	case a.Begun == 0:
		return unseen("slave time-out", "no reply was heard")
	}
	says := fmt.Sprintf("%d of %d requests were replied to, the latest reply began %s behind its request", a.Begun, a.Asked, milliseconds(a.Longest))
	if a.Late == 0 && a.Begun < a.Asked { // silence is no reply in time
		return count("slave time-out", a.Asked-a.Begun, "requests without a reply", says)
	}
	if a.Late > 0 {
		says += fmt.Sprintf("; %d too late", a.Late)
	}
	v := number("slave time-out", ms(a.Longest), ms(a.Timing.mostResponse()), "ms", says)
	v.Finding = broken(a.Late > 0)
	return v
}
