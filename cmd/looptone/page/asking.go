package page

import (
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
	"looptone/sim/live"
)

// nobody is the answer to who will answer where nobody does.
const nobody = "nobody"

// reading is how long the line stands still behind an answer, so that everybody can
// read it.
const reading = 5 * time.Second

// asking asks the class: with it the line stands still behind every request.
type asking struct {
	scene *Scene
	what  string // who, check byte; empty: it does not ask
	by    string
	told  *Ask // the last question; nil: there was none. Not changed any more

	request  frame.Frame // that the question is about
	held     Message     // the same as it is told when the question is closed
	boxes    []Box       // of that one
	watching bool        // who answers is to be seen now
	pause    bool        // and then the line is to stand still
	heard    []spoken    // carriers since the request
	reading  *time.Timer
}

var (
	errNoQuestion = errors.New("answer: nothing is asked now")
	errAnswered   = errors.New("answer: one was given already")
)

// set has the class asked, or no longer.
func (a *asking) set(what, by string) error {
	switch what {
	case "off":
		a.what = ""
		a.release()
		return nil
	case "who", "check byte":
		if !a.scene.simulated() {
			return live.ErrOutside
		}
		a.release()
		a.what, a.by = what, by
		return nil
	}
	return fmt.Errorf("ask: got %q, want off, who or check byte", what)
}

// hear asks about a request that was heard, and reports whether it did, and has told of
// the message itself; of another message that comes it takes note.
func (a *asking) hear(h *sim.Heard, e *Message, m *exchange.Message) (told bool) {
	switch {
	case a.watching && e.Kind != "request":
		a.resolve()
	case e.Kind == "request" && a.what != "" && !a.open():
		return a.ask(e, m)
	}
	return false
}

func (a *asking) open() bool { return a.told != nil && a.told.Open }

// waits reports whether the line stands still for a question, or for its answer to be
// read.
func (a *asking) waits() bool { return a.open() && !a.watching || a.reading != nil }

func (a *asking) ask(e *Message, m *exchange.Message) (asked bool) {
	s := a.scene
	if s.runner.Stop() != nil { // somebody has come from outside
		a.what = ""
		return false
	}
	a.stopReading()
	a.request = m.Frame
	a.request.Data = slices.Clone(m.Frame.Data)
	a.heard = a.heard[:0]
	q := &Ask{Open: true, Request: e.N, Question: a.what}
	veiled, why := a.hold(e, m), "the class is asked who will answer"
	if a.what == "who" {
		q.Text = fmt.Sprintf("Who will answer? %s.", veiled.Sentence)
		for _, d := range s.assembly.Devices {
			q.Choices = append(q.Choices, d.Config().Tag)
		}
		q.Choices = append(q.Choices, nobody)
	} else {
		q.Text = fmt.Sprintf("What is the check byte? %s.", veiled.Sentence)
		why = "the class is asked for the check byte"
	}
	a.told = q
	s.tell("message", veiled)
	s.tell("ask", q)
	s.clock.steps = ""
	s.clock.say(a.by, why)
	return true
}

// hold keeps a request until the question is closed, and gives what is told of it until
// then: nothing that the class is to find out. Taken apart it names no device.
func (a *asking) hold(e *Message, m *exchange.Message) (veiled Message) {
	whole, _ := a.scene.apart.find(e.N) // it was kept just now
	a.held, a.boxes = *e, whole.Boxes
	veiled = *e
	if a.what == "who" {
		nameless := *m
		nameless.Device = nil
		veiled.To, veiled.Sentence = -1, view.Sentence(&nameless)
		return veiled
	}
	veiled.Hex = e.Hex[:len(e.Hex)-2]
	a.scene.apart.keep(e.N, a.boxes[:len(a.boxes)-1])
	return veiled
}

// unveil tells all of the request.
func (a *asking) unveil() {
	a.scene.apart.keep(a.held.N, a.boxes)
	a.scene.tell("message", a.held)
}

// answer takes an answer; what came of it is told to everybody.
func (a *asking) answer(given string) error {
	switch {
	case !a.open():
		return errNoQuestion
	case a.told.Given != "":
		return errAnswered
	case a.told.Question == "who" && !slices.Contains(a.told.Choices, given):
		return fmt.Errorf("answer: got %q, want one of %s", given, strings.Join(a.told.Choices, ", "))
	}
	if a.told.Question == "check byte" {
		b, err := hex.DecodeString(strings.TrimSpace(given))
		if err != nil || len(b) != 1 {
			return fmt.Errorf("answer: got %q, want a byte in two hex digits", given)
		}
		given = hex.EncodeToString(b)
	}
	a.change(func(q *Ask) { q.Given = given })
	a.settle(true)
	return nil
}

// change tells a question as it is now.
func (a *asking) change(how func(q *Ask)) {
	q := *a.told
	how(&q)
	a.told = &q
	a.scene.tell("ask", a.told)
}

// settle finds out what is right: the check byte at once, who answers by letting the line
// go on. Then it is closed; with pause the line stands still for a while.
func (a *asking) settle(pause bool) {
	a.pause = pause
	if a.told.Question == "check byte" {
		a.closeCheckByte()
		return
	}
	a.watching = true
	_ = a.scene.clock.goOn(a.by, "sees who answers") // it goes on already where somebody let it
}

func (a *asking) closeCheckByte() {
	right := a.held.Hex[len(a.held.Hex)-2:]
	a.close(right, a.told.Given == right, fmt.Sprintf(
		"The exclusive or of all bytes from the delimiter on is %s: each bit of it says whether an odd number of those bytes has that bit set.", right))
}

// hearCarrier takes note of who talks behind a request.
func (a *asking) hearCarrier(x *spoken) {
	if a.open() && a.told.Question == "who" && x.kind != "master" && x.kind != "outside" {
		a.heard = append(a.heard, *x)
	}
}

// hearNobody takes note of a slave time-out that has passed.
func (a *asking) hearNobody() {
	if a.watching {
		a.resolve()
	}
}

// resolve closes the question of who answers: what was to be heard was heard.
func (a *asking) resolve() {
	a.watching = false
	who := a.talkers()
	right := slices.Contains(who, a.told.Given)
	answer := strings.Join(who, " and ")
	if len(who) == 0 {
		answer, right = nobody, a.told.Given == nobody
	}
	a.close(answer, right, a.why(who))
}

func (a *asking) close(answer string, right bool, why string) {
	a.unveil()
	a.change(func(q *Ask) { q.Open, q.Answer, q.Right, q.Says = false, answer, right, why })
	s := a.scene
	if !a.pause {
		_ = s.clock.goOn(s.clock.actor, "") // it may go on already
		return
	}
	_ = s.runner.Stop() // where somebody has come from outside it goes on
	s.clock.say(a.by, "lets everybody read the answer")
	a.reading = s.later(reading, func() {
		if a.reading != nil {
			a.stopReading()
			_ = s.clock.goOn(a.by, "") // somebody may have let it go on
		}
	})
}

func (a *asking) stopReading() {
	if a.reading != nil {
		a.reading.Stop()
		a.reading = nil
	}
}

// release lets the line go on, whatever is asked.
func (a *asking) release() {
	if a.reading != nil {
		a.stopReading()
		_ = a.scene.clock.goOn(a.scene.clock.whoActs(), "") // somebody may have let it go on
	}
	if a.open() && !a.watching {
		a.settle(false)
	}
}

// talkers are the tags of those who have answered.
func (a *asking) talkers() (tags []string) {
	for _, x := range a.heard {
		if x.device < 0 {
			continue
		}
		if tag := a.scene.assembly.Devices[x.device].Config().Tag; !slices.Contains(tags, tag) {
			tags = append(tags, tag)
		}
	}
	return tags
}
