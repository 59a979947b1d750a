package report

import (
	"bufio"
	"fmt"
	"strings"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange/findings"
)

// trafficText is what a page about traffic says in words.
type trafficText struct {
	Source
	Lead     string
	Whole    []string
	Devices  []view.SummaryPart
	Commands []string
	Writes   []string
	LeftOut  []string
	Judged   bool
	Verdicts verdictTable
}

// mostDevicesTold have sentences of their own in the page.
const mostDevicesTold = 120

func (t *Traffic) write(w *bufio.Writer) error {
	chosen := t.archive.choose()
	data := t.compiled(chosen)
	script := scriptOf(trafficScripts)
	begin(w, t.Title, script)
	if err := forms.ExecuteTemplate(w, "traffic.html", t.text(chosen)); err != nil {
		return err
	}
	return finish(w, script, data)
}

func (t *Traffic) text(chosen *selection) *trafficText {
	x := &trafficText{Source: t.Source, Lead: t.lead()}
	whole, devices, commands, writes := view.SummaryParts(&t.counts, t.named)
	x.Whole, x.Commands, x.Writes = whole.Sentences, commands.Sentences, writes.Sentences
	x.Devices = devices[:min(len(devices), mostDevicesTold)]
	x.LeftOut = t.leftOut(chosen, len(devices))
	if t.judge != nil {
		x.Judged, x.Verdicts = true, findingsTable(t.judge.Findings())
	}
	return x
}

// lead is what comes first: how much there was, and whether it went well.
func (t *Traffic) lead() string {
	s := &t.counts
	devices, _ := s.Devices()
	said := fmt.Sprintf("%s, %s", many(s.Requests+s.Replies+s.Bursts+t.damaged(), "message", "messages"), many(int64(len(devices)), "device or address", "devices and addresses"))
	if watched := s.Watched(); watched > 0 {
		said += ", " + spanText(watched) + " of listening"
	}
	said += ". "
	switch {
	case s.Requests > 0 && s.Answered == s.Requests:
		said += "Every request was answered. "
	case s.Requests > 0:
		said += fmt.Sprintf("%d of %s answered. ", s.Answered, many(s.Requests, "request was", "requests were"))
	}
	switch damaged, noise := t.damaged(), t.noise(); {
	case damaged == 0 && noise == 0:
		return said + "Nothing was damaged."
	case noise == 0:
		return said + many(damaged, "message was", "messages were") + " damaged."
	default:
		return said + fmt.Sprintf("%s damaged, and %s there was noise.", many(damaged, "message was", "messages were"), many(noise, "time", "times"))
	}
}

// spanText is a time for a person.
func spanText(d time.Duration) string {
	switch {
	case d < time.Second:
		return fmt.Sprintf("%v ms", float64(d)/float64(time.Millisecond))
	case d < 2*time.Minute:
		return fmt.Sprintf("%.1f s", d.Seconds())
	case d < 2*time.Hour:
		return fmt.Sprintf("%d min %d s", d/time.Minute, d%time.Minute/time.Second)
	}
	return fmt.Sprintf("%d h %d min", d/time.Hour, d%time.Hour/time.Minute)
}

// leftOut says in numbers what was aggregated and what is missing.
func (t *Traffic) leftOut(chosen *selection, devices int) (said []string) {
	say := func(format string, args ...any) { said = append(said, fmt.Sprintf(format, args...)) }
	if kept := int64(len(chosen.rows)); kept == t.archive.came {
		say("The list of messages is complete: nothing was left out of it.")
	} else {
		say("The list of messages holds %[2]d of %[1]d: the first ones, the latest ones, and %[3]d of the %[4]d that tell of damage, noise or a request without an answer. What is not in the list is counted all the same, and is in the overview, the values, the response times and the statuses.",
			t.archive.came, kept, chosen.wrong, t.archive.cameWrong)
	}
	say("A step of the overview and of the statuses is %s long; there are %d of them.", spanText(time.Duration(t.grid.width*float64(time.Second))), t.grid.used)
	said = append(said, t.curves.said()...)
	if t.stations.others > 0 {
		say("Devices beyond the first %d share a lane and have no curves: %s of theirs.", mostDevices, many(t.stations.others, "message", "messages"))
	}
	if devices > mostDevicesTold {
		say("The first %d of %d devices and addresses have sentences of their own.", mostDevicesTold, devices)
	}
	if t.notes > mostNotes {
		say("%d more remarks on the inputs are not told here.", t.notes-mostNotes)
	}
	if n := t.timeline.untimed; n > 0 {
		say("%s no times: the axis shows how long a line would take, one behind the other, with %d characters of silence between them. Real pauses are not known.", many(n, "message has", "messages have"), betweenMessages)
	}
	if n := t.timeline.parts; n > 1 {
		say("The recording has %d parts that follow each other on the axis; what lies between them is not known unless the wall clock tells it.", n)
	}
	if t.holes > 0 || t.torn > 0 {
		say("The input itself has lost something in %s; %s beside that are not counted.", many(t.holes, "place", "places"), many(t.torn, "character", "characters"))
	}
	return said
}

// said is what was left out of curves.
func (c *curves) said() (said []string) {
	var readings, points int64
	thinned := 0
	for _, of := range c.all {
		readings, points = readings+of.readings, points+int64(len(of.points))
		if of.each > 1 {
			thinned++
		}
	}
	if thinned > 0 {
		said = append(said, fmt.Sprintf("%d readings are drawn as %d points in %d curves; in %d of these a point is the least and the most of several readings.", readings, points, len(c.all), thinned))
	}
	if len(c.more) > 0 {
		said = append(said, fmt.Sprintf("%d values or more beyond the first %d have no curve.", len(c.more), mostCurves))
	}
	return said
}

// many is a number of things.
func many(n int64, one, several string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, several)
}

// findingsTable is what was found of the hosts, the worst first.
func findingsTable(all []findings.Finding) (t verdictTable) {
	t.Caption = "What the hosts kept and what they broke"
	t.Of = "Host"
	for _, verdict := range [...]findings.Verdict{findings.Broken, findings.Advised, findings.InDoubt, findings.Kept, findings.NotSeen, findings.NotMeasurable} {
		for i := range all {
			if f := &all[i]; f.Verdict == verdict {
				t.Rows = append(t.Rows, findingRow(f))
			}
		}
	}
	return t
}

func findingRow(f *findings.Finding) verdictRow {
	r := verdictRow{Verdict: f.Verdict.String(), Look: "open", Name: f.Rule.String(), Want: f.Rule.Says(), Source: f.Rule.Source(), Of: "secondary master"}
	if f.Primary {
		r.Of = "primary master"
	}
	switch f.Verdict {
	case findings.Broken, findings.Advised:
		r.Look = "broken"
	case findings.Kept:
		r.Look = "kept"
	}
	r.Says = fmt.Sprintf("%d kept, %d broken, %d in doubt", f.Kept, f.Broken, f.InDoubt)
	if f.NotMeasurable > 0 {
		r.Says += fmt.Sprintf(", %d not to be seen (%s)", f.NotMeasurable, f.Hidden)
	}
	for _, e := range append(f.Examples[:len(f.Examples):len(f.Examples)], f.Doubts...) {
		r.Examples = append(r.Examples, fmt.Sprintf("message %d: %s", e.Number, strings.TrimSpace(e.Text)))
	}
	return r
}
