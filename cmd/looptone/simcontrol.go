package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"looptone/sim"
)

// longestAction is how long a line of --control may be. Of a longer one nothing is
// kept.
const longestAction = 1 << 20

var errLongAction = fmt.Errorf("the line is longer than %d bytes", longestAction)

// takeActions takes actions for the line from lines of r and answers them in that
// order, until r or ctx ends. The line goes on whatever comes, and however slowly.
func (s *simulation) takeActions(ctx context.Context, r io.Reader) {
	eachLine(r, longestAction, func(text []byte, whole bool) bool {
		answered := make(chan struct{})
		s.runner.Do(func() {
			defer close(answered)
			s.answer(text, whole)
		})
		select {
		case <-answered:
			return true
		case <-ctx.Done():
			return false
		}
	})
}

// eachLine yields the lines of r that are not blank, the last one also without an
// end. One that is longer than most is yielded once, as soon as it is, and not whole.
func eachLine(r io.Reader, most int, yield func(text []byte, whole bool) (more bool)) {
	lines := bufio.NewReader(r)
	var line []byte
	long := false
	for {
		part, err := lines.ReadSlice('\n')
		if line = append(line, part...); long {
			line = line[:0]
		}
		ended := !errors.Is(err, bufio.ErrBufferFull)
		switch text := bytes.TrimRight(line, "\r\n"); {
		case long:
		case len(text) > most:
			long = true
			if !yield(nil, false) {
				return
			}
		case ended && len(bytes.TrimSpace(text)) > 0 && !yield(text, true):
			return
		}
		if ended {
			line, long = line[:0], false
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
func (s *simulation) answer(text []byte, whole bool) {
	a := answer{OK: true, Time: seconds(s.assembly.Line.Now())}
	var err error
	switch wanted, asked := asksForFindings(text); {
	case !whole:
		err = errLongAction
	case asked && wanted != true:
		err = errors.New(`findings takes true, want {"findings":true}`)
	case asked:
		a.Did, a.Findings = "told what the hosts have kept and broken so far", s.hosts.lines()
	default:
		a.Did, err = s.act(text)
	}
	if err != nil {
		a = answer{Error: err.Error()}
	}
	s.tell(a)
}

// asksForFindings reports whether a line is {"findings":…}, and what stands there.
func asksForFindings(text []byte) (wanted any, ok bool) {
	var keys map[string]any
	if json.Unmarshal(text, &keys) != nil || len(keys) != 1 {
		return nil, false
	}
	wanted, ok = keys["findings"]
	return wanted, ok
}

func (s *simulation) act(text []byte) (did string, err error) {
	x, err := s.description.ReadAction("action", text)
	if err != nil {
		return "", err
	}
	if did, err = s.assembly.Do(x); err == nil {
		s.hosts.addAction(x)
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
	fmt.Fprintf(s.aside, "%9.3f s  %s\n", at.Seconds(), did)
	if s.json {
		s.tell(e)
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
	s := t.Duration().Round(time.Microsecond).Seconds()
	return &s
}
