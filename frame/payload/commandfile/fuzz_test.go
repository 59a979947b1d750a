package commandfile_test

import (
	"errors"
	"os"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"looptone/frame/payload"
	"looptone/frame/payload/commandfile"
)

// check wants an error with a place in the text, or valid definitions that are the
// same when they are written and read back.
func check(t interface{ Fatalf(string, ...any) }, text []byte) {
	commands, err := commandfile.Parse("f", text)
	if err != nil {
		var e *commandfile.Error
		lines := strings.Split(string(text), "\n")
		if !errors.As(err, &e) || e.Line < 1 || e.Line > len(lines) || e.Column < 1 || e.Column > len(lines[e.Line-1])+1 {
			t.Fatalf("%q: got error %v, want one with a place in the text", text, err)
		}
		return
	}
	for _, c := range commands {
		if err := c.Definition.Check(); err != nil {
			t.Fatalf("%q: %v", text, err)
		}
	}
	written, err := commandfile.Append(nil, commands...)
	if err != nil {
		t.Fatalf("%q: %v", text, err)
	}
	back, err := commandfile.Parse("written", written)
	if err != nil || !reflect.DeepEqual(commands, back) {
		t.Fatalf("%q: came back as %s, %v", text, written, err)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(good))
	for _, d := range payload.All() {
		text, err := commandfile.Append(nil, commandfile.Command{DeviceType: 3, Definition: d})
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	text, err := os.ReadFile(setPoint)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte("command = [[[{a.b = [1, {c = 2}]}]], 3]\n[table.\"a.b\"]\n"))
	f.Fuzz(func(t *testing.T, text []byte) { check(t, text) })
}

// A good file with something else in one place, or several, hits the checks more
// often than any bytes do.
func TestSpoiltFiles(t *testing.T) {
	values := []string{"-1", "0", "1", "5", "36", "255", "256", "65536", "1e9", "nan", "9223372036854775807", `""`, `"kPa"`,
		`"float"`, `"flags"`, `"bytes"`, `"unit code"`, `"7-0"`, `"0"`, `"5-"`, `"6-7"`, `"readiness"`, `"selector"`, `"é"`,
		"true", "[]", "[{}]", "{}", "2031-03-01"}
	lines := strings.Split(good, "\n")
	rapid.Check(t, func(t *rapid.T) {
		spoilt := append([]string(nil), lines...)
		for range rapid.IntRange(1, 4).Draw(t, "changes") {
			i := rapid.IntRange(0, len(spoilt)-1).Draw(t, "line")
			switch rapid.IntRange(0, 3).Draw(t, "change") {
			case 0:
				spoilt = append(spoilt[:i:i], spoilt[i+1:]...)
			case 1:
				spoilt[i] += "\n" + rapid.SampledFrom(lines).Draw(t, "copy")
			default:
				spoilt[i] = spoil(t, spoilt[i], rapid.SampledFrom(values).Draw(t, "value"))
			}
		}
		check(t, []byte(strings.Join(spoilt, "\n")))
	})
}

// spoil gives one of the keys in a line another value.
func spoil(t *rapid.T, line, value string) string {
	parts := strings.Split(line, " = ")
	if len(parts) < 2 {
		return line
	}
	i := rapid.IntRange(1, len(parts)-1).Draw(t, "key")
	rest := ""
	if at := strings.IndexAny(parts[i], ",}"); at >= 0 {
		rest = parts[i][at:]
	}
	parts[i] = value + rest
	return strings.Join(parts, " = ")
}
