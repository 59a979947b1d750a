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

// check wants an error with a place in the text, or a line that runs.
func check(t interface{ Fatalf(string, ...any) }, text []byte) {
	d, err := linefile.Parse("f", text, shelf)
	if err != nil {
		var e *linefile.Error
		lines := strings.Split(string(text), "\n")
		if !errors.As(err, &e) || e.Line < 1 || e.Line > len(lines) || e.Column < 1 || e.Column > len(lines[e.Line-1])+1 {
			t.Fatalf("%q: got error %v, want one with a place in the text", text, err)
		}
		return
	}
	a, err := d.Assemble(nil, nil)
	if err != nil {
		t.Fatalf("%q: parsed, and refused when it was assembled: %v", text, err)
	}
	a.Line.Run(sim.Second)
	for _, dev := range a.Devices {
		dev.Transmitter().To(sim.Second)
	}
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{good, twins, whole, works, designed} {
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
		`""`, `"kPa"`, `"°C"`, `"linear"`, `"constant"`, `"sphere"`, `"orifice"`, `"auto"`, `"FT-102"`, `"10s"`, `"é"`,
		"true", "[]", "[3.8, 20.5]", "[[0, 0], [50, 9]]", `["sensor", "range", "output"]`, "[{}]", "{}", "2031-03-01"}
	rapid.Check(t, func(t *rapid.T) {
		lines := strings.Split(rapid.SampledFrom([]string{good, whole, works, designed}).Draw(t, "description"), "\n")
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
