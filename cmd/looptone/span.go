package main

import (
	"fmt"
	"time"
)

// spanFlag is a span of line time, within limits.
type spanFlag struct {
	span        time.Duration // 0: not given
	least, most time.Duration // a most of 0 is no limit
}

func (s *spanFlag) String() string {
	if s.span == 0 {
		return ""
	}
	return s.span.String()
}

func (s *spanFlag) Type() string { return "DURATION" }

// Set wants whole microseconds: they are what line time counts without a rest,
// and what it is written in.
func (s *spanFlag) Set(text string) error {
	d, err := time.ParseDuration(text)
	switch {
	case err != nil:
		return fmt.Errorf("%q is no time, want for instance 500ms, 10s or 1h", text)
	case s.most > 0 && (d < s.least || d > s.most):
		return fmt.Errorf("%v is out of range, want %v to %v", d, s.least, s.most)
	case d < s.least:
		return fmt.Errorf("%v is out of range, want %v or more", d, s.least)
	case d%time.Microsecond != 0:
		return fmt.Errorf("%v is no whole number of microseconds", d)
	}
	s.span = d
	return nil
}
