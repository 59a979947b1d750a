//go:build unix

package main_test

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"
	"time"
)

// A controlled simulation takes actions and answers them.
type controlled struct {
	*testing.T
	actions io.WriteCloser
	answers chan string
	end     func()
}

// startControlled starts a simulation that is controlled.
func startControlled(t *testing.T, args ...string) *controlled {
	t.Helper()
	sim := looptone(t, append([]string{"sim", "--control", "-"}, args...)...)
	c := &controlled{T: t, answers: make(chan string, 100)}
	var err error
	if c.actions, err = sim.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	answers, err := sim.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := sim.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		defer close(c.answers)
		for lines := bufio.NewScanner(answers); lines.Scan(); {
			c.answers <- lines.Text()
		}
	}()
	c.end = func() {
		t.Helper()
		sim.Process.Signal(os.Interrupt)
		for range c.answers { // until it has ended
		}
		if err := sim.Wait(); err != nil {
			t.Errorf("the simulation ends with %v", err)
		}
	}
	return c
}

// say writes to the simulation.
func (c *controlled) say(text string) {
	c.Helper()
	if _, err := io.WriteString(c.actions, text); err != nil {
		c.Fatal(err)
	}
}

// hear wants an answer with some text in it.
func (c *controlled) hear(want string) map[string]any {
	c.Helper()
	select {
	case line, more := <-c.answers:
		var answer map[string]any
		if err := json.Unmarshal([]byte(line), &answer); err != nil || !more || !strings.Contains(line, want) {
			c.Fatalf("answer %q, %v; want one with %q", line, err, want)
		}
		return answer
	case <-time.After(20 * time.Second):
		c.Fatalf("no answer; want one with %q", want)
	}
	return nil
}

// TestTimingControl: a simulation is controlled over its stdin, whatever comes there.
func TestTimingControl(t *testing.T) {
	c := startControlled(t)
	c.say("{\"mute\":\"LT-103\"}\n\n{\"mute\":\"LT-999\"}\nnonsense\n{\"unmute\":\"LT-103\"}\r\n")
	c.hear(`"did":"LT-103 is silent from now on"`)
	c.hear(`{"ok":false,"error":"stdin:3:9: device \"LT-999\" is not on the line, want one of PT-101, `)
	c.hear(`{"ok":false,"error":"stdin:4:2: this is no JSON: invalid character 'o' in literal null (expecting 'u')"}`)
	c.hear(`"did":"LT-103 is heard again from now on"`)

	// Line time stands still, and goes on where it stood.
	c.say(`{"stop":true}` + "\n")
	stopped := c.hear(`"ok":true`)["time"].(float64)
	c.say(`{"go":true}` + "\n")
	if gone := c.hear(`"ok":true`)["time"].(float64); gone != stopped {
		t.Errorf("line time stood still from %v to %v", stopped, gone)
	}

	// Of a line that is too long nothing is done, and the next one is read.
	c.say(`{"mute":"` + strings.Repeat("x", 3<<20) + "\"}\n" + `{"mute":"PT-101"}` + "\n")
	c.hear(`{"ok":false,"error":"stdin:8:1048577: the line is longer than 1048576 bytes"}`)
	c.hear(`"did":"PT-101 is silent from now on"`)

	// What was begun and does not end holds up nothing.
	c.say(`{"mute":`)
	c.actions.Close()
	c.hear(`{"ok":false,"error":"stdin:10:9: this is no JSON: unexpected end of JSON input"}`)
	c.end()
}

// TestTimingControlAtItsTime: what is to be done later is answered now, and told when
// it was done; findings are told when they are asked for.
func TestTimingControlAtItsTime(t *testing.T) {
	c := startControlled(t, lineFile(t, named+quickAndSlow+bothMasters), "--json", "--log", os.DevNull)
	defer c.end()
	c.say(`{"time":"2s","mute":"TT-2"}` + "\n" + `{"findings":true}` + "\n")
	event := ""
	for asked := 2; asked > 0 || event == ""; {
		select {
		case line := <-c.answers:
			switch {
			case strings.Contains(line, `"event":"action"`):
				event = line
			case strings.HasPrefix(line, `{"ok":true`):
				asked--
			case strings.HasPrefix(line, `{"ok"`):
				t.Error(line)
			}
		case <-time.After(20 * time.Second):
			t.Fatalf("%d answers and event %q are missing", asked, event)
		}
	}
	if want := `{"event":"action","time":2,"did":"TT-2 is silent from now on"}`; event != want {
		t.Errorf("got %s, want %s", event, want)
	}
	c.say(`{"findings":true}` + "\n" + `{"findings":1}` + "\n")
	var told []string
	for len(told) < 2 {
		if line := <-c.answers; strings.HasPrefix(line, `{"ok"`) {
			told = append(told, line)
		}
	}
	var answer struct {
		Findings []struct{ Master, Rule, Verdict string }
	}
	if err := json.Unmarshal([]byte(told[0]), &answer); err != nil || len(answer.Findings) == 0 {
		t.Errorf("%v: no findings in %s", err, told[0])
	}
	for _, f := range answer.Findings {
		if f.Verdict == "broken" {
			t.Errorf("the %s master broke %s", f.Master, f.Rule)
		}
	}
	if want := fmt.Sprintf("%q", "stdin:4:13: findings: got 1, want true"); !strings.Contains(told[1], want) {
		t.Errorf("got %s, want %s in it", told[1], want)
	}
}
