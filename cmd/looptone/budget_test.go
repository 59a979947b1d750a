package main

import (
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"looptone/cmd/looptone/view"
	"looptone/sim/loop"
)

// Every key of every object that budget --json writes is documented in its help.
func TestBudgetKeysAreInItsHelp(t *testing.T) {
	l := &loop.Loop{
		Supply: loop.Supply{V: 24, Ohm: 1}, ResistorOhm: 250, Host: loop.Host{V: 0.5, Ohm: 100},
		Series:  []loop.Instrument{{Name: "indicator", Ohm: 10}},
		Cables:  []loop.Cable{{Name: "trunk", Behind: loop.Source, LengthM: 600, OhmPerKM: 36, NFPerKM: 100}},
		Devices: []loop.Device{{Name: "FT-102", LiftOffV: 10.5, InputNF: 5, ToneMA: 2}},
	}
	_, help, ok := strings.Cut(newBudget().Long, "With --json")
	if !ok {
		t.Fatal("the help does not speak of --json")
	}
	lines := strings.Split(strings.TrimSuffix(string(view.AppendBudget(nil, "x", l.Reckon([]float64{4}, []float64{4}))), "\n"), "\n")
	kinds := map[string]bool{}
	for _, line := range lines {
		var o map[string]any
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		for key := range o {
			if !regexp.MustCompile(`\b` + key + `\b`).MatchString(help) {
				t.Errorf("key %s is not in the help", key)
			}
		}
		kind, _, _ := strings.Cut(line, ":")
		kinds[kind] = true
	}
	if len(kinds) != 6 {
		t.Errorf("objects of %d kinds, want 6: %v", len(kinds), kinds)
	}
}
