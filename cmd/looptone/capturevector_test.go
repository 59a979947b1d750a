package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/vector"
)

// TestCaptureVectors lets decode read the vectors as capture files, marks included:
// the events are those that the vector tells, with the fault where it is. New lines
// of text are no matter of that format.
func TestCaptureVectors(t *testing.T) {
	vectors, err := vector.Read(os.DirFS("../../testdata/vectors"))
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, v := range vectors {
		bare, _ := v.Value("bare")
		if file, ok := captureOf(v); ok && bare != "no" && len(v.Chars) > 0 {
			tried++
			t.Run(v.Name, func(t *testing.T) { decodeCapture(t, v, file) })
		}
	}
	if tried < 100 {
		t.Errorf("only %d vectors", tried)
	}
}

// captureOf is a vector as a capture file: a cut is a second of silence.
func captureOf(v *vector.Vector) (file []byte, ok bool) {
	lines := []string{"looptone capture 1", `! stream 0 "vector" times=start`}
	marks := make([]frame.Mark, len(v.Chars)+1)
	for _, m := range v.Marks {
		if m.Mark&frame.Line != 0 || m.Mark == frame.Gap && int(m.Pos) == len(v.Chars) {
			return nil, false
		}
		marks[m.Pos] |= m.Mark
	}
	at := 0
	for i, c := range v.Chars {
		if i == 0 || marks[i]&frame.Cut != 0 {
			lines = append(lines, fmt.Sprintf("%d 0", at))
			at += 10
		}
		text := fmt.Sprintf(" %02x", c)
		for _, letter := range []struct {
			mark frame.Mark
			text string
		}{{frame.Parity, "p"}, {frame.Framing, "f"}, {frame.Gap, "g"}} {
			if marks[i]&letter.mark != 0 {
				text += letter.text
			}
		}
		lines[len(lines)-1] += text
	}
	return sealed(0xffff, append(lines, "! end")...), true
}

func decodeCapture(t *testing.T, v *vector.Vector, file []byte) {
	var out, told bytes.Buffer
	run([]string{"decode", "--json"}, bytes.NewReader(file), &out, &told)
	var events []string
	expect, _ := v.Value("expect")
	found := expect == "frame" || expect == "noise"
	for text := range strings.Lines(out.String()) {
		var l line
		if err := json.Unmarshal([]byte(text), &l); err != nil {
			t.Fatalf("%v: %s", err, text)
		}
		if l.Event == "unanswered" {
			continue
		}
		end := l.Start + int64(len(l.Frame+l.Bytes)/2)
		events = append(events, fmt.Sprintf("%s %d-%d-%d", l.Event, l.Start-int64(l.Preambles), l.Start, end))
		found = found || l.Error.Field == expect
		if l.Event == "frame" {
			compareFields(t, v, &l)
		}
	}
	want, several := v.Value("events")
	if got := strings.Join(events, " | "); several && got != want || !several && len(events) != 1 {
		t.Errorf("got %s, want %s\n%s%s", got, want, file, told.String())
	}
	if !found {
		t.Errorf("no event with a fault in the %s\n%s", expect, out.String())
	}
}
