package view

import (
	"fmt"
	"strings"

	"looptone/frame/exchange"
	"looptone/sim/master"
)

// A Sighting is something that has changed at a polling address from one scan to the
// next.
type Sighting struct {
	Event string        // came, went or changed
	When  exchange.Span // one moment
	Found *master.Found // as it is now; of what went, as it was last
	Was   *master.Found // before it changed; nil for what came or went
}

// String says it in one line, without the time.
func (s *Sighting) String() string {
	text := fmt.Sprintf("%-7s  ", s.Event)
	switch {
	case s.Event == "went" && s.Found.Unreadable:
		return text + fmt.Sprintf("%3d  what could not be read", s.Found.Polling)
	case s.Event == "went":
		return text + fmt.Sprintf("%3d  %-8s  unique address %v", s.Found.Polling, tagOf(s.Found), s.Found.Unique)
	case s.Was == nil:
		return text + FoundSentence(s.Found)
	}
	var was []string
	if s.Was.Polling != s.Found.Polling {
		was = append(was, fmt.Sprintf("polling address %d", s.Was.Polling))
	}
	if tagOf(s.Was) != tagOf(s.Found) {
		was = append(was, "tag "+tagOf(s.Was))
	}
	if longTagOf(s.Was) != longTagOf(s.Found) {
		was = append(was, "long tag "+longTagOf(s.Was))
	}
	return text + FoundSentence(s.Found) + "; before: " + strings.Join(was, ", ")
}

func longTagOf(f *master.Found) string {
	if f.LongTag == nil || *f.LongTag == "" {
		return "(no long tag)"
	}
	return *f.LongTag
}

// Append writes it as an object with the keys of [AppendFound], and what was before.
func (s *Sighting) Append(dst []byte, line string) []byte {
	o := object{b: append(dst, '{')}
	o.plain(`"event":`, s.Event)
	o.when(&s.When)
	o.say(",")
	start := len(o.b)
	o.b = AppendFound(o.b, line, s.Found)
	o.b = append(o.b[:start], o.b[start+1:len(o.b)-1]...) // without its braces
	if s.Was != nil {
		o.open(`"was":`)
		o.int(`"polling":`, int64(s.Was.Polling))
		o.textOrNull(`"tag":`, s.Was.Tag)
		o.textOrNull(`"long_tag":`, s.Was.LongTag)
		o.close()
	}
	return append(o.b, '}')
}

// SameDevice reports whether nothing of what a [Sighting] tells of a device that is
// there has changed.
func SameDevice(a, b *master.Found) bool {
	return a.Polling == b.Polling && tagOf(a) == tagOf(b) && longTagOf(a) == longTagOf(b)
}
