package main

import (
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

// TestFilterByTime: seconds since the capture began, or a wall clock time beside
// the one at which it did; what has no time passes only where none is asked for.
func TestFilterByTime(t *testing.T) {
	at := func(seconds float64) exchange.Span {
		return exchange.Span{Known: true, Start: time.Duration(seconds * float64(time.Second))}
	}
	for _, tt := range []struct {
		from, to, started string
		at                exchange.Span
		passes            bool
	}{
		{"", "", "", exchange.Span{}, true},
		{"", "", "", at(5), true},
		{"2.5", "", "", at(2.5), true},
		{"2.5", "", "", at(2.4), false},
		{"2.5", "", "", exchange.Span{}, false},
		{"", "2.5", "", at(2.5), true},
		{"", "2.5", "", at(2.6), false},
		{"2031-03-01T03:10:17+01:00", "", "2031-03-01T03:10:07+01:00", at(10), true},
		{"2031-03-01T03:10:17+01:00", "", "2031-03-01T03:10:07+01:00", at(9.9), false},
		{"", "2031-03-01T02:10:17Z", "2031-03-01T03:10:07+01:00", at(10), true},
		{"", "2031-03-01T02:10:17Z", "2031-03-01T03:10:07+01:00", at(10.1), false},
	} {
		f := filterFlags{command: -1, from: tt.from, to: tt.to, started: tt.started}
		if err := f.check(); err != nil {
			t.Fatalf("%+v: %v", tt, err)
		}
		m := heardMessage{Message: exchange.Message{Event: &frame.Event{Outcome: frame.Whole}, Span: tt.at}}
		if got := f.passes(&m); got != tt.passes {
			t.Errorf("from %q to %q started %q at %+v: passes %v, want %v", tt.from, tt.to, tt.started, tt.at, got, tt.passes)
		}
	}
}
