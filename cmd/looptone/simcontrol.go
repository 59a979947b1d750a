package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"

	"looptone/frame/userfile"
	"looptone/sim"
)

// longestAction is how long a line of --control may be. Of a longer one nothing is
// kept.
const longestAction = 1 << 20

// controlName is what errors call the input of --control.
const controlName = "stdin"

var errLongAction = fmt.Errorf("the line is longer than %d bytes", longestAction)

// takeActions takes actions for the line from lines of r and answers them in that
// order, until r or ctx ends. The line goes on whatever comes, and however slowly.
func (s *simulation) takeActions(ctx context.Context, r io.Reader) {
	eachLine(r, longestAction, func(number int, text []byte, whole bool) bool {
		answered := make(chan struct{})
		s.runner.Do(func() {
			defer close(answered)
			s.answer(number, text, whole)
		})
		select {
		case <-answered:
			return true
		case <-ctx.Done():
			return false
		}
	})
}

// eachLine yields the lines of r that are not blank, with their numbers from 1, the
// last one also without an end. One that is longer than most is yielded once, as soon
// as it is, and not whole.
func eachLine(r io.Reader, most int, yield func(number int, text []byte, whole bool) (more bool)) {
	lines := bufio.NewReader(r)
	var line []byte
	long := false
	for number := 1; ; {
		part, err := lines.ReadSlice('\n')
		if line = append(line, part...); long {
			line = line[:0]
		}
		ended := !errors.Is(err, bufio.ErrBufferFull)
		switch text := bytes.TrimRight(line, "\r\n"); {
		case long:
		case len(text) > most:
			long = true
			if !yield(number, nil, false) {
				return
			}
		case ended && len(bytes.TrimSpace(text)) > 0 && !yield(number, text, true):
			return
		}
		if ended {
			line, long = line[:0], false
			number++
			if err != nil {
				return
			}
		}
	}
}

// An answer says what came of an action.
type answer struct {
	OK       bool     `json:"ok"`
	Time     *float64 `json:"time,omitempty"`
	Did      string   `json:"did,omitempty"`
	Findings any      `json:"findings,omitempty"` // the list that was asked for
	Error    string   `json:"error,omitempty"`
}

// answer does what a line of --control says, and writes the answer.
func (s *simulation) answer(number int, text []byte, whole bool) {
	a, err := answer{}, error(&userfile.Error{File: controlName, Line: number, Column: longestAction + 1, Err: errLongAction})
	if whole {
		a, err = s.obey(number, text)
	}
	if err != nil {
		a = answer{Error: err.Error()}
	} else {
		a.OK, a.Time = true, seconds(s.assembly.Line.Now())
	}
	s.tell(a)
}

// obey does what a line says: tell the findings, or an action.
func (s *simulation) obey(number int, text []byte) (a answer, err error) {
	t, err := userfile.ParseJSONLine(controlName, number, text)
	switch {
	case err != nil:
		return a, err
	case !slices.Equal(t.Keys(), []string{"findings"}):
		a.Did, err = s.act(number, text)
		return a, err
	case t.Value("findings") != true:
		t.RefuseValue("findings", "true")
		return a, t.End()
	}
	return answer{Did: "told what the hosts have kept and broken so far", Findings: s.hosts.lines()}, nil
}

func (s *simulation) act(number int, text []byte) (did string, err error) {
	x, err := s.description.ReadAction(controlName, number, text)
	if err != nil {
		return "", err
	}
	if did, err = s.assembly.Do(x); err == nil {
		s.hosts.addAction(x)
		s.shown.did(did)
	}
	return did, err
}

// An actionEvent is a timed action whose time has come.
type actionEvent struct {
	Event string   `json:"event"`
	Time  *float64 `json:"time"`
	Did   string   `json:"did,omitempty"`
	Error string   `json:"error,omitempty"`
}

// report tells of a timed action: as a sentence, which goes to where what is beside
// the results goes, and with --json as an object too.
func (s *simulation) report(at sim.Tick, did string, err error) {
	e := actionEvent{Event: "action", Time: seconds(at), Did: did}
	if err != nil {
		e.Did, e.Error = "", err.Error()
		did = "not done: " + e.Error
	}
	s.shown.did(did)
	fmt.Fprintf(s.aside, "%9.3f s  %s\n", at.Seconds(), did)
	if s.json {
		s.tell(e)
	}
}

// A loopEvent is something that the electricity of the line does.
type loopEvent struct {
	Event string   `json:"event"`
	Time  *float64 `json:"time"`
	Says  string   `json:"says"`
}

// reportLoop tells of what the electricity does, as report does of actions.
func (s *simulation) reportLoop(at sim.Tick, news string) {
	s.shown.news(news)
	fmt.Fprintf(s.aside, "%9.3f s  %s\n", at.Seconds(), news)
	if s.json {
		s.tell(loopEvent{Event: "loop", Time: seconds(at), Says: news})
	}
}

// tell writes an object as a line on stdout.
func (s *simulation) tell(object any) {
	var line bytes.Buffer
	e := json.NewEncoder(&line)
	e.SetEscapeHTML(false)
	if err := e.Encode(object); err != nil {
		panic(err) // strings, numbers and what is made of them
	}
	s.out.Write(line.Bytes())
}

// seconds is a moment of line time, to the microsecond.
func seconds(t sim.Tick) *float64 {
	s := ((t + sim.Microsecond/2) / sim.Microsecond * sim.Microsecond).Seconds()
	return &s
}
