package view

import (
	"encoding/json"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/serialio/modemcheck"
	"looptone/serialio/modemcheck/stimulus"
)

// stimulusResult is of a modem that hears all but one waveform well, one with an
// error, and one not at all. The numbers are invented.
func stimulusResult(t *testing.T) *stimulus.Result {
	t.Helper()
	s, err := stimulus.New(7, stimulus.DefaultRate, stimulus.DefaultFullScale)
	if err != nil {
		t.Fatal(err)
	}
	few := map[string]bool{"clean": true, "level-70": true, "level-90": true, "level-150": true, "noise-9": true, "cable": true}
	var waveforms []stimulus.Waveform
	for _, w := range s.Waveforms {
		if few[w.Name] {
			waveforms = append(waveforms, w)
		}
	}
	s.Waveforms = waveforms
	r := &stimulus.Result{Set: s, Scores: make([]stimulus.Score, len(waveforms))}
	for i := range r.Scores {
		sc := &r.Scores[i]
		sc.Waveform = &s.Waveforms[i]
		sc.Way = &modemcheck.Way{Timing: modemcheck.Timing{Marks: true}, Sent: 900, Heard: 900, Messages: modemcheck.Messages{Sent: 6, Whole: 6}, Delay: modemcheck.Delay{Messages: 6}}
		switch sc.Waveform.Name {
		case "level-70", "level-90":
			sc.Around = modemcheck.Messages{Sent: 2, Whole: 2}
			sc.Way = &modemcheck.Way{Sent: 900, Lost: 900, Messages: modemcheck.Messages{Sent: 6, Lost: 6}}
		case "level-150":
			sc.Way.Heard, sc.Way.Lost, sc.Way.Wrong = 898, 2, 1
			sc.Way.Messages = modemcheck.Messages{Sent: 6, Whole: 4, Damaged: 2}
		case "noise-9":
			sc.Way.Wrong, sc.Way.Messages = 40, modemcheck.Messages{Sent: 12, Damaged: 12}
		case "cable":
			sc.Way = nil
		}
		sc.Judge()
	}
	return r
}

func TestStimulusText(t *testing.T) {
	want, err := os.ReadFile("testdata/stimulus.txt")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), Stimulus(stimulusResult(t))); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestStimulusObjects: every line is an object, and they tell what the text tells.
func TestStimulusObjects(t *testing.T) {
	lines := strings.Split(strings.TrimSuffix(string(AppendStimulus(nil, stimulusResult(t))), "\n"), "\n")
	verdicts := map[string]int{}
	for i, line := range lines {
		var o struct {
			Test      string
			InOrder   *bool `json:"in_order"`
			Waveforms int
			Waveform  string
			Limit     string
			Verdict   string
			Source    *string
		}
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		switch {
		case i == 0:
			if o.Test != "waveforms" || o.InOrder == nil || *o.InOrder || o.Waveforms != 6 {
				t.Error(line)
			}
		case o.Waveform == "" || o.Verdict == "" || o.Source == nil:
			t.Error(line)
		case o.Limit == "":
			verdicts[o.Waveform+" "+o.Verdict]++
		}
	}
	want := map[string]int{"clean kept": 1, "level-70 not measurable": 1, "level-90 kept": 1, "level-150 broken": 1, "noise-9 no limit": 1, "cable not measurable": 1}
	if diff := cmp.Diff(want, verdicts); diff != "" {
		t.Error(diff)
	}
}
