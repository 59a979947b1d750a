package linefile_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"looptone/sim"
	"looptone/sim/linefile"
)

// placed wants an error with a place in the text.
func placed(t interface{ Fatalf(string, ...any) }, text []byte, err error) {
	var e *linefile.Error
	lines := strings.Split(string(text), "\n")
	if !errors.As(err, &e) || e.Line < 1 || e.Line > len(lines) || e.Column < 1 || e.Column > len(lines[e.Line-1])+1 {
		t.Fatalf("%q: got error %v, want one with a place in the text", text, err)
	}
}

// check wants an error with a place in the text, or a line that runs.
func check(t interface{ Fatalf(string, ...any) }, text []byte) {
	d, err := linefile.Parse("f", text, shelf)
	if err != nil {
		placed(t, text, err)
		return
	}
	a, err := d.Assemble(nil, nil)
	if err != nil {
		t.Fatalf("%q: parsed, and refused when it was assembled: %v", text, err)
	}
	defer a.Close()
	a.Line.Run(sim.Second)
	for _, dev := range a.Devices {
		dev.Transmitter().To(sim.Second)
	}
}

// Any object is refused with a place in it, or done, and the line goes on.
func FuzzReadAction(f *testing.F) {
	for _, text := range []string{
		`{"set": "TT-2.process.value", "to": 20}`, `{"set": "PT-1.burst[0].every", "to": "2s"}`,
		`{"set": "TT-2.range", "to": {"lower": 0, "upper": 50}}`, `{"time": "14s", "mute": "TT-2"}`, `{"time": 0, "stop": true}`,
		`{"move": "TT-2", "behind": ""}`, `{"fault": {"kind": "restart", "device": "TT-2", "every_s": 0.5, "down_s": 0.1}}`,
		`{"set": "line.cable[0].length_m", "to": 50}`, `{"set": "line.host_at", "to": "TT-2"}`, `{"set": "PT-1.reversed", "to": true}`,
		`{"remove": "asleep"}`, `{"go": true}`, `{"set": "TT-2.table", "to": {"points": [[0, 0], [100, 90]]}}`,
	} {
		f.Add([]byte(text))
	}
	d, err := linefile.Parse("lively.toml", []byte(lively), nil)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		x, err := d.ReadAction("control", 1, text)
		if err != nil {
			placed(t, text, err)
			return
		}
		a, err := d.Assemble(nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Close()
		a.Line.Run(sim.Second)
		if did, err := a.Do(x); err != nil {
			placed(t, text, err)
		} else if did == "" {
			t.Fatalf("%q: nothing is said of it", text)
		}
		a.Line.Run(2 * sim.Second)
	})
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{good, twins, whole, works, designed, lively, wired} {
		f.Add([]byte(text))
	}
	files, _ := filepath.Glob("../../testdata/lines/*.toml")
	for _, file := range append(files, "quillmere.toml") {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte("device = [[[{a.b = [1, {c = 2}]}]], 3]\n[line.\"a.b\"]\n"))
	f.Fuzz(func(t *testing.T, text []byte) { check(t, text) })
}

// A good description with something else in one place, or several, hits the checks
// more often than any bytes do.
func TestSpoiltDescriptions(t *testing.T) {
	values := []string{"-1", "0", "1", "5", "16", "64", "1e9", "1e39", "-1e300", "nan", "inf", "9223372036854775807",
		`""`, `"kPa"`, `"°C"`, `"linear"`, `"constant"`, `"sphere"`, `"orifice"`, `"auto"`, `"FT-102"`, `"10s"`, `"é"`, `"TT-2.range.upper"`, `"no reply"`, `"trunk"`, `"supply"`,
		"true", "[]", "[3.8, 20.5]", "[[0, 0], [50, 9]]", `["sensor", "range", "output"]`, "[{}]", "{}", "2031-03-01"}
	rapid.Check(t, func(t *rapid.T) {
		lines := strings.Split(rapid.SampledFrom([]string{good, whole, works, designed, lively, wired}).Draw(t, "description"), "\n")
		spoilt := append([]string(nil), lines...)
		for range rapid.IntRange(1, 4).Draw(t, "changes") {
			i := rapid.IntRange(0, len(spoilt)-1).Draw(t, "line")
			key, _, ok := strings.Cut(spoilt[i], "=")
			switch rapid.IntRange(0, 3).Draw(t, "change") {
			case 0:
				spoilt = append(spoilt[:i:i], spoilt[i+1:]...)
			case 1:
				j := rapid.IntRange(0, len(lines)-1).Draw(t, "copy of line")
				spoilt[i] += "\n" + lines[j]
			default:
				if ok {
					spoilt[i] = key + "= " + rapid.SampledFrom(values).Draw(t, "value")
				}
			}
		}
		check(t, []byte(strings.Join(spoilt, "\n")))
	})
}
