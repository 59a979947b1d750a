package view

import (
	"fmt"
	"math"
	"strings"

	"looptone/serialio/modemcheck"
	"looptone/serialio/modemcheck/stimulus"
)

// StimulusMade says what was written into a folder, and what to do with it.
func StimulusMade(s *stimulus.Set, folder string) string {
	total := int(math.Round(s.Seconds()))
	size := (s.Seconds() + s.Calibration.Seconds) * float64(s.Rate) * 2 / 1e6
	return fmt.Sprintf("%s: %d waveforms, seed %d, %d samples a second, full scale is %g V; %.0f MB, %d min %d s to play\n",
		folder, len(s.Waveforms), s.Seed, s.Rate, s.FullScale, size, total/60, total%60) +
		Paragraph(0, 0, fmt.Sprintf("Set the level by %s. Then play the others in the order of their numbers, and capture what the modem puts out; check-modem --stimulus %s --score CAPTURE tells what came of them.",
			s.Calibration.File, folder))
}

// noLimit is the verdict of a waveform of which nothing must be.
const noLimit = "either is right"

// Stimulus says what a modem made of waveforms: which are not in order, the figures of
// each, and then what is broken, what could not be measured, and the limits.
func Stimulus(r *stimulus.Result) string {
	var t stimulusText
	t.say(fmt.Sprintf("modem test, waveforms: seed %d, %s\n\n", r.Set.Seed, many(int64(len(r.Scores)), "waveform", "waveforms")))
	t.answer(r)
	t.figures(r)
	t.broken(r)
	t.unseen(r)
	t.limits(r)
	return string(t.b)
}

// A stimulusText is the report of such a test that is being written.
type stimulusText struct{ prose }

func (t *stimulusText) answer(r *stimulus.Result) {
	var a Answer
	for i := range r.Scores {
		switch f, _ := r.Scores[i].Finding(); f {
		case modemcheck.Broken:
			a.Broken(r.Scores[i].Waveform.Name)
		case modemcheck.Kept:
			a.Kept()
		}
	}
	t.say(Paragraph(0, 0, a.String()))
}

// figures are a line for each waveform. Of those that stand around what is tested, messages
// are no part of them.
func (t *stimulusText) figures(r *stimulus.Result) {
	t.say("\n", fmt.Sprintf("  %-16s%28s%30s\n", "", "characters", "messages"))
	t.say(fmt.Sprintf("  %-16s%7s%7s%7s%7s%7s%13s\n", "", "sent", "heard", "lost", "wrong", "extra", "whole"))
	for i := range r.Scores {
		s := &r.Scores[i]
		t.say(fmt.Sprintf("  %-16s", s.Waveform.Name))
		w := s.Way
		if w == nil {
			t.say("  no capture of it\n")
			continue
		}
		whole := fmt.Sprintf("%d of %d", w.Messages.Whole, w.Messages.Sent)
		t.say(fmt.Sprintf("%7d%7d%7d%7d%7d%13s   ", w.Sent, w.Heard, w.Lost, w.Wrong, w.Stray.All(), whole), stimulusVerdict(s), "\n")
	}
}

// stimulusVerdict is the verdict of a waveform in words.
func stimulusVerdict(s *stimulus.Score) string {
	switch f, judged := s.Finding(); {
	case !judged:
		return noLimit
	case f == modemcheck.NotMeasurable:
		return "not measurable"
	default:
		return f.String()
	}
}

// broken are the limits that are, under the waveform that they are of.
func (t *stimulusText) broken(r *stimulus.Result) {
	headed := false
	for i := range r.Scores {
		s := &r.Scores[i]
		if f, _ := s.Finding(); f != modemcheck.Broken {
			continue
		}
		if !headed {
			headed = true
			t.say("\nbroken\n")
		}
		t.labelled(2, limitsColumn, s.Waveform.Name, fmt.Sprintf("%s. A modem must %s (%s).", s.Waveform.Does, s.Waveform.Must, s.Waveform.Source))
		for _, v := range s.Verdicts {
			if v.Finding == modemcheck.Broken {
				t.labelled(2, limitsColumn, "", v.Name+": "+v.Says)
			}
		}
	}
}

// unseen are the limits that could not be measured, and of which waveforms.
func (t *stimulusText) unseen(r *stimulus.Result) {
	of := map[string][]string{}
	var order []modemcheck.Verdict
	for i := range r.Scores {
		for _, v := range r.Scores[i].Verdicts {
			if v.Finding != modemcheck.NotMeasurable || r.Scores[i].Way == nil {
				continue // where there is no capture, the figures say so
			}
			key := v.Name + v.Says
			if of[key] == nil {
				order = append(order, v)
			}
			of[key] = append(of[key], r.Scores[i].Waveform.Name)
		}
	}
	for k, v := range order {
		if k == 0 {
			t.say("\nnot measurable\n")
		}
		t.labelled(2, limitsColumn, v.Name, v.Says+" ("+strings.Join(of[v.Name+v.Says], ", ")+")")
	}
}

// limits are those that anything was held against.
func (t *stimulusText) limits(r *stimulus.Result) {
	used := map[string]bool{}
	for i := range r.Scores {
		for _, v := range r.Scores[i].Verdicts {
			used[v.Name] = used[v.Name] || v.Finding != modemcheck.NotMeasurable
		}
	}
	headed := false
	for _, l := range stimulus.Limits {
		if !used[l.Name] {
			continue
		}
		if !headed {
			headed = true
			t.say("\nlimits\n")
		}
		t.labelled(2, limitsColumn, l.Name, l.Want+" ("+l.Source+")")
	}
}

// AppendStimulus writes what a modem made of waveforms as JSON objects, one a line: the
// test, each waveform, each verdict.
func AppendStimulus(dst []byte, r *stimulus.Result) []byte {
	dst = objectLine(dst, func(o *object) {
		o.text(`"test":`, "waveforms")
		o.key(`"seed":`)
		o.b = fmt.Appendf(o.b, "%d", r.Set.Seed)
		o.bool(`"in_order":`, r.OK())
		o.int(`"waveforms":`, int64(len(r.Scores)))
	})
	for i := range r.Scores {
		dst = objectLine(dst, func(o *object) { o.stimulusScore(&r.Scores[i]) })
	}
	for i := range r.Scores {
		for _, v := range r.Scores[i].Verdicts {
			dst = objectLine(dst, func(o *object) {
				o.text(`"waveform":`, r.Scores[i].Waveform.Name)
				o.modemVerdict(&v)
			})
		}
	}
	return dst
}

func (o *object) stimulusScore(s *stimulus.Score) {
	w := s.Waveform
	o.text(`"waveform":`, w.Name)
	o.text(`"does":`, w.Does)
	o.amount(`"level_mv":`, w.LevelMV)
	o.text(`"must":`, w.Must)
	o.text(`"source":`, w.Source)
	verdict := stimulusVerdict(s)
	if verdict == noLimit {
		verdict = "no limit"
	}
	o.text(`"verdict":`, verdict)
	if s.Way == nil {
		for _, name := range [...]string{`"characters":`, `"extra":`, `"messages":`, `"swallowed":`, `"parity_errors":`, `"framing_errors":`, `"carriers":`, `"around":`} {
			o.null(name)
		}
		return
	}
	o.counted(s.Way)
	o.errorsSeen(s.Way)
	o.stimulusCarriers(s)
	o.open(`"around":`)
	o.ints(count{`"sent":`, s.Around.Sent}, count{`"whole":`, s.Around.Whole})
	o.close()
}

// stimulusCarriers are null where the capture does not tell of any.
func (o *object) stimulusCarriers(s *stimulus.Score) {
	if !s.TellsCarrier {
		o.null(`"carriers":`)
		return
	}
	o.open(`"carriers":`)
	o.ints(count{`"sent":`, s.Carriers}, count{`"detected":`, s.Detected}, count{`"reported":`, s.WentOn})
	o.close()
}
