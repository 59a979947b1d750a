package view_test

import (
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/vector"
)

// number is a number as it is written, "" for anything else.
func number(v any) string {
	n, _ := v.(json.Number)
	return n.String()
}

// TestVectors: the line of the event that a vector speaks of says what the
// vector says, and does not say what it leaves out; and every character is in one
// line.
func TestVectors(t *testing.T) {
	for _, v := range readVectors(t) {
		t.Run(v.Name, func(t *testing.T) {
			for _, bare := range []bool{false, true} {
				if holds, ok := v.Value("bare"); !ok || bare == (holds == "yes") {
					checkLines(t, v, bare)
				}
			}
		})
	}
}

func checkLines(t *testing.T, v *vector.Vector, bare bool) {
	expect, _ := v.Value("expect")
	var stream []byte
	checked := false
	eachMessage(v, bare, func(m *exchange.Message) {
		o, err := readJSON(new(view.JSON).Append(nil, m, nil))
		if err != nil {
			t.Fatal(err)
		}
		stream = append(frame.AppendPreambles(stream, m.Preambles), bytesOf(t, o)...)
		fault, _ := o["error"].(map[string]any)
		speaks := o["event"] == expect && fault == nil || fault != nil && fault["field"] == expect
		if speaks && !checked {
			checked = true
			checkKeys(t, v, o, fault)
		}
	})
	if !checked {
		t.Errorf("bare %t: no line is %q", bare, expect)
	}
	if string(stream) != string(v.Chars) {
		t.Errorf("bare %t: the lines hold % x, want % x", bare, stream, v.Chars)
	}
}

func bytesOf(t testing.TB, o map[string]any) []byte {
	key := "bytes"
	if o["event"] == "frame" {
		key = "frame"
	}
	text, ok := o[key].(string)
	b, err := hex.DecodeString(text)
	if !ok || err != nil || text != strings.ToLower(text) {
		t.Fatalf("%s %v is no lower-case hex", key, o[key])
	}
	return b
}

// reasons are the texts of faults.
var reasons = map[string]string{
	"parity": "parity", "framing": "framing", "gap": "gap", "cut": "end of input",
	"frame type": "unknown frame type", "byte count": "no room for the status bytes",
	"check byte": "check byte does not match",
}

func checkKeys(t *testing.T, v *vector.Vector, o, fault map[string]any) {
	said := map[string]string{
		"preambles": number(o["preambles"]), "kind": text(o["kind"]), "master": text(o["master"]),
		"burst_mode": text(o["burst_mode"]), "address": address(o["address"]), "command": number(o["command"]),
		"at": number(fault["offset"]), "reason": text(fault["text"]), "got": text(fault["got"]), "want": text(fault["want"]),
	}
	if o["event"] == "frame" {
		said["data"] = text(o["data"])
		said["device_status"] = list(o["device_status"])
		said["response"] = response(o["response"])
	}
	for key, got := range said {
		want, ok := v.Value(key)
		if key == "reason" && ok {
			want = reasons[want]
		}
		if _, isDamage := v.Value("faults"); isDamage && key == "burst_mode" {
			continue // stands in frames only
		}
		if ok || fault != nil || o["event"] == "frame" {
			if got != want {
				t.Errorf("%s: got %q, want %q", key, got, want)
			}
		}
	}
}

func text(v any) string {
	if v == nil {
		return ""
	}
	return fmt.Sprint(v)
}

func address(v any) string {
	a, _ := v.(map[string]any)
	switch {
	case a == nil:
		return ""
	case a["broadcast"] == true && a["unique"] == "0000000000":
		return "broadcast"
	case a["unique"] != nil:
		return "unique " + text(a["unique"])
	}
	return "polling " + number(a["polling"])
}

// list is as vectors write lists.
func list(v any) string {
	all, ok := v.([]any)
	if !ok {
		return ""
	}
	if len(all) == 0 {
		return "none"
	}
	var names []string
	for _, name := range all {
		names = append(names, text(name))
	}
	return strings.Join(names, ", ")
}

func response(v any) string {
	r, _ := v.(map[string]any)
	if code, ok := r["code"]; ok {
		return number(code)
	}
	return list(r["communication_errors"])
}
