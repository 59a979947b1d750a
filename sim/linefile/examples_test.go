package linefile_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"looptone/sim"
	"looptone/sim/linefile"
)

// example reads a line file from testdata.
func example(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile("../../testdata/lines/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// The files in testdata are descriptions that a user may copy.
func TestExamplesRun(t *testing.T) {
	files, err := filepath.Glob("../../testdata/lines/*.toml")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d files, error %v: want at least two", len(files), err)
	}
	for _, file := range files {
		d, err := linefile.Parse(file, []byte(example(t, filepath.Base(file))))
		if err != nil {
			t.Error(err)
			continue
		}
		assemble(t, d, nil).Line.Run(sim.Second)
	}
}

// What the package documentation shows is a description.
func TestDocumentation(t *testing.T) {
	text, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	var shown []string
	for line := range strings.Lines(string(text)) {
		if code, ok := strings.CutPrefix(line, "//\t"); ok {
			shown = append(shown, code)
		} else if len(shown) > 0 {
			shown = append(shown, "\n")
		}
	}
	d := parse(t, strings.Join(shown, ""))
	if len(d.Devices) != 1 || len(d.Devices[0].Faults) != 1 {
		t.Errorf("got %+v, want one device with a fault", d)
	}
}

func TestSharedAddress(t *testing.T) {
	text := example(t, "shared-address.toml")
	found := scan(t, assemble(t, parse(t, text), nil), 0, 15)
	if len(found) != 1 || found[0].Polling != 3 || !found[0].Unreadable || found[0].Tries != 3 {
		t.Errorf("found %+v, want polling address 3, unreadable after three tries", found)
	}
	weaker := strings.Replace(text, "amplitude_v = 0.5 ", "amplitude_v = 0.125 ", 1)
	if weaker == text {
		t.Fatal("the file gives no amplitude")
	}
	found = scan(t, assemble(t, parse(t, weaker), nil), 0, 15)
	if len(found) != 1 || found[0].Tag == nil || *found[0].Tag != "PT-1" {
		t.Errorf("12 dB apart: found %+v, want PT-1", found)
	}
	alone := strings.Replace(text, "allow_duplicate = true", "", 1)
	if _, err := linefile.Parse("f", []byte(alone)); err == nil {
		t.Error("without allow_duplicate: no error")
	}
}

// TT-1 is always late. LT-2 replies to about every other request, and a scan asks a
// silent address once.
func TestLateAndSilent(t *testing.T) {
	d := parse(t, example(t, "late-and-silent.toml"))
	times := 0
	const seeds = 40
	for seed := range uint64(seeds) {
		for _, f := range scan(t, assemble(t, d, &seed), 0, 3) {
			if f.Polling != 2 {
				t.Errorf("seed %d: found polling address %d, want 2 only", seed, f.Polling)
			}
			times++
		}
	}
	if times < 10 || times > 30 {
		t.Errorf("found LT-2 in %d of %d scans, want about half", times, seeds)
	}
}
