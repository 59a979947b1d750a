package page

import (
	"fmt"
	"strings"
)

// grant does what somebody at a browser wants done, between two events of the line.
func (s *Scene) grant(w *Wish) (o Outcome) {
	s.clock.actor = w.By
	if w.By == "" {
		s.clock.actor = "the holder of the key"
	}
	defer func() { s.clock.actor = "" }()
	if s.hands.Does(w.Do) {
		if o = s.hands.Do(w); o.OK && !w.Preview {
			s.Did(s.clock.actor, o.Says)
		}
		return o
	}
	says, err := s.guide(w)
	if err != nil {
		return refusal(err)
	}
	return Outcome{OK: true, Says: says}
}

// A guidance is a wish about the line's time, or a question to the class.
type guidance struct {
	name string
	says func(w *Wish) string
	do   func(s *Scene, w *Wish, by string) error
}

var guidances = []guidance{
	{"pause", said("The line stands still for everybody."), func(s *Scene, _ *Wish, by string) error { return s.pause(by) }},
	{"go", said("The line goes on."), func(s *Scene, _ *Wish, by string) error { return s.goOn(by) }},
	{"pace", sayPace, func(s *Scene, w *Wish, by string) error { return s.clock.pace(by, w.Pace) }},
	{"step", said("The line goes on by one message."), func(s *Scene, _ *Wish, by string) error { return s.step(by) }},
	{"ask", sayAsk, func(s *Scene, w *Wish, by string) error { return s.asking.set(w.Ask, by) }},
	{"answer", said("The answer was taken."), func(s *Scene, w *Wish, _ string) error { return s.asking.answer(w.Answer) }},
	{"restart", said("The line is put back to its start."), func(s *Scene, _ *Wish, by string) error { return s.restart(by) }},
}

func said(text string) func(*Wish) string { return func(*Wish) string { return text } }

func sayPace(w *Wish) string {
	if w.Pace == 1 {
		return "Line time passes as fast as that of the clock on the wall."
	}
	return fmt.Sprintf("Line time passes at %g times the pace of the clock on the wall.", w.Pace)
}

func sayAsk(w *Wish) string {
	switch w.Ask {
	case "who":
		return "The line stands still behind every request, until somebody says who will answer."
	case "check byte":
		return "The line stands still behind every request, until somebody says what its check byte is."
	}
	return "Nothing is asked any more."
}

// guide does what a wish says of the line's time and of questions; a preview says it only.
func (s *Scene) guide(w *Wish) (says string, err error) {
	if err := w.check(); err != nil {
		return "", err
	}
	var names []string
	for _, g := range guidances {
		if g.name != w.Do {
			names = append(names, g.name)
			continue
		}
		if !w.Preview {
			err = g.do(s, w, s.clock.actor)
		}
		return g.says(w), err
	}
	return "", fmt.Errorf("do: got %q, want one of %s, scan, poll, quiet, send, act, undo", w.Do, strings.Join(names, ", "))
}

// pause lets the line stand still, also when what was answered has been read.
func (s *Scene) pause(by string) error {
	s.asking.stopReading()
	return s.clock.stop(by, "paused")
}

// goOn lets the line go on, at which a question is closed.
func (s *Scene) goOn(by string) error {
	if s.asking.waits() {
		s.asking.release()
		return nil
	}
	if s.clock.steps != "" { // it goes, but would stop
		s.clock.steps = ""
		s.clock.say(by, slowness(s.runner.Passes()))
		return nil
	}
	return s.clock.goOn(by, "")
}

// step lets the line go on by a message; a question is closed.
func (s *Scene) step(by string) error {
	if s.asking.waits() {
		s.asking.release()
	}
	return s.clock.step(by)
}

// restart has the line put back to its start.
func (s *Scene) restart(by string) error {
	if why := s.page.config.Fixed; why != "" {
		return fmt.Errorf("restart: %s", why)
	}
	s.over = true
	s.News(by, "the line is put back to its start")
	return nil
}
