package view

import (
	"fmt"
	"strings"

	"looptone/frame/exchange"
	"looptone/sim/master"
)

// SightingSentence says in one line, without the time, what has changed from one scan
// to the next.
func SightingSentence(s *master.Sighting) string {
	text := fmt.Sprintf("%-7s  ", s.Change)
	switch {
	case s.Change == master.Went && s.Found.Unreadable:
		return text + fmt.Sprintf("%3d  what could not be read", s.Found.Polling)
	case s.Change == master.Went:
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

// AppendSighting writes it as an object with the keys of [AppendFound], when it was,
// which is one moment, and what was before.
func AppendSighting(dst []byte, line string, s *master.Sighting, when *exchange.Span) []byte {
	o := object{b: append(dst, '{')}
	o.plain(`"event":`, s.Change.String())
	o.when(when)
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
