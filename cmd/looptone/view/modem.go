package view

import (
	"fmt"

	"looptone/serialio/modemcheck"
)

// Modem says what a modem's test came to: which limits are broken, what was sent and
// heard each way, and then every limit with what is published of it.
func Modem(r *modemcheck.Report) string {
	t := modemText{verdicts: r.Verdicts()}
	t.say(fmt.Sprintf("modem test, %v: seed %d, %.1f s\n\n", r.Hookup, r.Seed, r.Took.Seconds()))
	t.answer()
	for _, w := range r.Ways {
		t.way(w)
	}
	for _, f := range [...]modemcheck.Finding{modemcheck.Broken, modemcheck.Kept, modemcheck.NotMeasurable} {
		t.limits(f, len(r.Ways) > 1)
	}
	return string(t.b)
}

// A modemText is the report of a modem's test that is being written.
type modemText struct {
	prose
	verdicts []modemcheck.Verdict
}

func (t *modemText) answer() {
	var a Answer
	for _, v := range t.verdicts {
		switch v.Finding {
		case modemcheck.Broken:
			a.Broken(v.Name)
		case modemcheck.Kept:
			a.Kept()
		}
	}
	t.say(Paragraph(0, 0, a.String()))
}

// way is what was sent and heard one way; the verdicts say the rest.
func (t *modemText) way(w *modemcheck.Way) {
	t.say("\n", w.From, " → ", w.To, "\n")
	m := &w.Messages
	t.labelled(2, 14, "messages", fmt.Sprintf("%d sent, %d came as they were sent, %d damaged, %d lost", m.Sent, m.Whole, m.Damaged, m.Lost))
	t.labelled(2, 14, "characters", fmt.Sprintf("%d sent, of %d values; %d heard, %d lost, %d wrong, %d extra, %d preambles swallowed",
		w.Sent, w.Values, w.Heard, w.Lost, w.Wrong, w.Stray.All(), w.Swallowed.Preambles))
}

// limitsColumn is where the text of a limit begins.
const limitsColumn = 24

// limits are the verdicts that came out so.
func (t *modemText) limits(f modemcheck.Finding, ways bool) {
	headed, last := false, ""
	for _, v := range t.verdicts {
		if v.Finding != f {
			continue
		}
		if !headed {
			headed = true
			t.say("\n", f.String(), "\n")
		}
		label, says := v.Name, v.Says
		if label == last {
			label = ""
		}
		last = v.Name
		if ways && v.From != "" {
			says = v.From + " → " + v.To + ": " + says
		}
		t.labelled(2, limitsColumn, label, says)
		if f != modemcheck.NotMeasurable && label != "" {
			t.labelled(2, limitsColumn, "", "wanted: "+v.Want+" ("+v.Source+")")
		}
	}
}

// AppendModem writes the report of a modem's test as JSON objects, one a line: the test,
// each way, each verdict.
func AppendModem(dst []byte, r *modemcheck.Report) []byte {
	dst = objectLine(dst, func(o *object) {
		o.text(`"test":`, r.Hookup.String())
		o.key(`"seed":`)
		o.b = fmt.Appendf(o.b, "%d", r.Seed)
		o.bool(`"in_order":`, r.OK())
		o.seconds(`"took":`, r.Took)
	})
	for _, w := range r.Ways {
		dst = objectLine(dst, func(o *object) { o.modemWay(w) })
	}
	for _, v := range r.Verdicts() {
		dst = objectLine(dst, func(o *object) { o.modemVerdict(&v) })
	}
	return dst
}

func (o *object) modemWay(w *modemcheck.Way) {
	o.text(`"from":`, w.From)
	o.text(`"to":`, w.To)
	o.counted(w)
	o.errorsSeen(w)
	o.durations(w)
}

// counted are the characters and messages of a way.
func (o *object) counted(w *modemcheck.Way) {
	o.open(`"characters":`)
	o.ints(count{`"sent":`, w.Sent}, count{`"values":`, w.Values}, count{`"heard":`, w.Heard},
		count{`"lost":`, w.Lost}, count{`"wrong":`, w.Wrong}, count{`"extra":`, w.Stray.All()})
	o.close()
	o.open(`"extra":`)
	o.ints(count{`"before":`, w.Stray.On}, count{`"behind":`, w.Stray.Off}, count{`"between":`, w.Stray.Between},
		count{`"within":`, w.Stray.Inside}, count{`"silence":`, w.Stray.Silence})
	o.close()
	o.open(`"messages":`)
	o.ints(count{`"sent":`, w.Messages.Sent}, count{`"whole":`, w.Messages.Whole}, count{`"damaged":`, w.Messages.Damaged},
		count{`"lost":`, w.Messages.Lost}, count{`"apart":`, w.Messages.Apart}, count{`"joined":`, w.Messages.Joined})
	o.close()
	o.open(`"swallowed":`)
	o.ints(count{`"preambles":`, w.Swallowed.Preambles}, count{`"messages":`, w.Swallowed.Messages}, count{`"most":`, w.Swallowed.Most})
	o.close()
}

// errorsSeen are the parity and framing errors, null where the port does not show them.
func (o *object) errorsSeen(w *modemcheck.Way) {
	if !w.Timing.Marks {
		o.null(`"parity_errors":`)
		o.null(`"framing_errors":`)
		return
	}
	o.ints(count{`"parity_errors":`, w.Parity}, count{`"framing_errors":`, w.Framing})
}

// durations are those that were measured, null where nothing came.
func (o *object) durations(w *modemcheck.Way) {
	if w.Gaps.Seen > 0 {
		o.int(`"gaps":`, int64(w.Gaps.Count))
		o.seconds(`"longest_gap":`, w.Gaps.Longest)
	} else {
		o.null(`"gaps":`)
		o.null(`"longest_gap":`)
	}
	if w.Delay.Messages > 0 {
		o.int(`"late":`, int64(w.Delay.Late))
		o.seconds(`"least_delay":`, w.Delay.Least)
		o.seconds(`"most_delay":`, w.Delay.Most)
		return
	}
	o.null(`"late":`)
	o.null(`"least_delay":`)
	o.null(`"most_delay":`)
}

func (o *object) modemVerdict(v *modemcheck.Verdict) {
	o.text(`"limit":`, v.Name)
	if v.From != "" {
		o.text(`"from":`, v.From)
		o.text(`"to":`, v.To)
	}
	o.text(`"verdict":`, v.Finding.String())
	if v.Unit != "" {
		o.amount(`"got":`, v.Got)
		o.amount(`"want":`, v.Bound)
		o.text(`"unit":`, v.Unit)
	} else {
		o.null(`"got":`)
		o.null(`"want":`)
		o.null(`"unit":`)
	}
	o.text(`"wanted":`, v.Want)
	o.text(`"says":`, v.Says)
	o.text(`"source":`, v.Source)
}

// A count is a number with its name.
type count struct {
	name string
	n    int
}

func (o *object) ints(counts ...count) {
	for _, c := range counts {
		o.int(c.name, int64(c.n))
	}
}
