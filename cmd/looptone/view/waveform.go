package view

import (
	"fmt"
	"math"
	"strconv"

	"looptone/serialio/fsk/measure"
)

// Waveform says what a waveform came to: which limits are broken, what was measured, and
// then every limit with what is published of it. name is what the waveform is called.
func Waveform(name string, r *measure.Report) string {
	t := waveformText{Report: r, verdicts: r.Verdicts()}
	t.say(name, ": ", waveformCounts(r), "\n\n")
	t.say(Paragraph(0, 0, waveformAnswer(t.verdicts)))
	t.quantities()
	t.noise()
	for _, f := range [...]measure.Finding{measure.Broken, measure.Kept, measure.NotMeasurable} {
		t.limits(f)
	}
	return string(t.b)
}

// A waveformText is the report of a waveform that is being written.
type waveformText struct {
	prose
	*measure.Report
	verdicts []measure.Verdict
}

// waveformCounts is what there is in a waveform.
func waveformCounts(r *measure.Report) string {
	m := &r.Messages
	said := fmt.Sprintf("%.3f s, %s, %s, %s", r.Seconds(),
		many(int64(r.Carriers), "carrier", "carriers"), many(r.Characters, "character", "characters"),
		many(int64(m.Whole), "whole message", "whole messages"))
	if m.Damaged > 0 {
		said += ", " + strconv.Itoa(m.Damaged) + " damaged"
	}
	return said
}

// waveformAnswer is what comes first: is it in order?
func waveformAnswer(verdicts []measure.Verdict) string {
	var a Answer
	for _, v := range verdicts {
		switch v.Finding {
		case measure.Broken:
			a.Broken(v.Name)
		case measure.Kept:
			a.Kept()
		}
	}
	return a.String()
}

func (t *waveformText) quantities() {
	rows := [][]string{{"measured", "mean", "deviation", "least", "most", "", "times"}}
	for _, q := range quantitiesOf(t.Report) {
		rows = append(rows, []string{q.name, q.number(q.Mean), q.number(q.SD), q.number(q.Least), q.number(q.Most), q.unit, strconv.Itoa(q.N)})
	}
	t.say("\n")
	t.table(rows)
	t.say("\n")
	e := &t.Edges
	if t.Doubtful > 0 {
		t.labelled(2, limitsColumn, "doubtful", many(t.Doubtful, "character", "characters")+" with a wrong bit or with edges that belong to none: left out below")
	}
	t.labelled(2, limitsColumn, "edges of bits", fmt.Sprintf("%d; rms off an even grid %.2f %% of a bit, at most %.2f %% from where their start bit has them",
		e.Count, e.RMS*100, e.StartStop*100))
	t.labelled(2, limitsColumn, "phase", fmt.Sprintf("jumps of %.1f° rms, the largest %.1f°; less than %.1f° cannot be told from none", e.JumpRMS, e.LargestJump, e.Resolution))
	if !math.IsInf(t.Eye.Open, 0) && !math.IsNaN(t.Eye.Open) {
		t.labelled(2, limitsColumn, "eye", fmt.Sprintf("open by %.0f %% in the middle of a bit, over %d bits", max(t.Eye.Open/2*100, 0), t.Eye.Bits))
	}
}

func (t *waveformText) noise() {
	unit, parts := noiseOf(t.Report)
	rows := [][]string{{"beside the tones, " + unit + " rms", "in silence", "under a carrier"}}
	shown := func(x float64) string {
		if math.IsNaN(x) {
			return "-"
		}
		return strconv.FormatFloat(x, 'f', map[bool]int{true: 2, false: 5}[unit == "mV"], 64)
	}
	for _, p := range parts {
		rows = append(rows, []string{p.name, shown(p.silent), shown(p.talking)})
	}
	t.say("\n")
	t.table(rows)
}

// limits are the verdicts that came out so.
func (t *waveformText) limits(f measure.Finding) {
	headed := false
	for _, v := range t.verdicts {
		if v.Finding != f {
			continue
		}
		if !headed {
			headed = true
			t.say("\n", f.String(), "\n")
		}
		t.labelled(2, limitsColumn, v.Name, v.Says)
		if f != measure.NotMeasurable {
			t.labelled(2, limitsColumn, "", "wanted: "+v.Want+" ("+v.Source+")")
		}
	}
}
