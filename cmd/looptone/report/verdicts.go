package report

import (
	"bufio"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strconv"

	"looptone/cmd/looptone/view"
	"looptone/serialio/fsk/measure"
	"looptone/serialio/modemcheck"
)

// A verdictTable holds what was looked at against its limits, the worst first.
type verdictTable struct {
	Caption string
	Of      string // heading of the column that says of whom; empty: there is none
	Numbers bool   // there are numbers got and allowed
	Rows    []verdictRow
}

type verdictRow struct {
	Verdict, Look string // kept, broken or open is how it looks
	Of            string
	Name          string
	Got, Bound    string
	Says          string
	Examples      []string
	Want, Source  string
}

// A verdictPage is a page about something that was held against limits.
type verdictPage struct {
	Source
	Sheets []sheet
}

// A sheet is one thing that was looked at.
type sheet struct {
	Name    string
	Answer  string
	Facts   []string
	Tables  []factTable
	Table   verdictTable
	Picture template.HTML // SVG that the program itself has drawn
}

// A factTable is a table of what was measured.
type factTable struct {
	Caption string
	Head    []string
	Rows    [][]string
}

func (p *verdictPage) write(w *bufio.Writer) error {
	script := scriptOf(sheetScripts)
	begin(w, p.Title, script)
	if err := forms.ExecuteTemplate(w, "verdicts.html", p); err != nil {
		return err
	}
	return finish(w, script, nil)
}

// Modem is the page of a modem's test.
func Modem(of Source, r *modemcheck.Report) Page {
	s := sheet{Name: "The test", Facts: []string{fmt.Sprintf("Hook-up: %v. Seed %d. It took %.1f s.", r.Hookup, r.Seed, r.Took.Seconds())}}
	counted := factTable{Caption: "What was sent and heard", Head: []string{"Way", "Sent", "Heard", "Lost", "Wrong", "Extra", "Messages sent", "Whole", "Damaged", "Lost"}}
	for _, way := range r.Ways {
		m := &way.Messages
		row := []string{way.From + " → " + way.To}
		for _, n := range [...]int{way.Sent, way.Heard, way.Lost, way.Wrong, way.Stray.All(), m.Sent, m.Whole, m.Damaged, m.Lost} {
			row = append(row, strconv.Itoa(n))
		}
		counted.Rows = append(counted.Rows, row)
	}
	s.Tables = []factTable{counted}
	s.Table = verdictTable{Caption: "Limits", Of: "Way", Numbers: true}
	for _, v := range r.Verdicts() {
		row := verdictRow{Verdict: v.Finding.String(), Look: "open", Name: v.Name, Says: v.Says, Want: v.Want, Source: v.Source}
		if v.From != "" {
			row.Of = v.From + " → " + v.To
		}
		switch v.Finding {
		case modemcheck.Broken:
			row.Look = "broken"
		case modemcheck.Kept:
			row.Look = "kept"
		}
		if v.Unit != "" {
			row.Got, row.Bound = amount(v.Got)+" "+v.Unit, "at most "+amount(v.Bound)+" "+v.Unit
			if v.Name == "preambles left" {
				row.Bound = "at least " + amount(v.Bound) + " " + v.Unit
			}
		}
		s.Table.Rows = append(s.Table.Rows, row)
	}
	s.finish()
	return &verdictPage{of, []sheet{s}}
}

// A Waveform is one that was measured, and its name.
type Waveform struct {
	Name string
	*measure.Report
}

// Waveforms is the page of waveforms that were measured.
func Waveforms(of Source, all []Waveform) Page {
	p := &verdictPage{Source: of}
	for _, w := range all {
		s := sheet{Name: w.Name, Facts: []string{view.WaveformCounts(w.Report) + "."}}
		s.Picture = template.HTML(view.AppendWaveformPicture(nil, w.Name, w.Report))
		head, rows := view.WaveformQuantities(w.Report)
		s.Tables = []factTable{{"What was measured", head, rows}}
		s.Table = verdictTable{Caption: "Limits", Numbers: true}
		for _, v := range w.Verdicts() {
			s.Table.Rows = append(s.Table.Rows, waveformRow(&v))
		}
		s.finish()
		p.Sheets = append(p.Sheets, s)
	}
	return p
}

func waveformRow(v *measure.Verdict) verdictRow {
	row := verdictRow{Verdict: v.Finding.String(), Look: "open", Name: v.Name, Says: v.Says, Want: v.Want, Source: v.Source}
	switch v.Finding {
	case measure.Broken:
		row.Look = "broken"
	case measure.Kept:
		row.Look = "kept"
	}
	if v.Unit == "" {
		return row
	}
	row.Got = amount(v.Got) + " " + v.Unit
	switch low, high := !math.IsNaN(v.Least), !math.IsNaN(v.Most); {
	case low && high:
		row.Bound = amount(v.Least) + " to " + amount(v.Most) + " " + v.Unit
	case low:
		row.Bound = amount(v.Least) + " " + v.Unit + " or more"
	case high:
		row.Bound = "at most " + amount(v.Most) + " " + v.Unit
	}
	return row
}

// amount is a number with four digits that count, and no more than three decimals.
func amount(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	return strconv.FormatFloat(math.Round(x*1000)/1000, 'g', 4, 64)
}

// looks in the order in which they stand.
var looks = []string{"broken", "kept", "open"}

// finish puts the worst first and says what comes of all.
func (s *sheet) finish() {
	slices.SortStableFunc(s.Table.Rows, func(a, b verdictRow) int {
		return slices.Index(looks, a.Look) - slices.Index(looks, b.Look)
	})
	var answer view.Answer
	for _, row := range s.Table.Rows {
		switch row.Look {
		case "broken":
			answer.Broken(row.Name)
		case "kept":
			answer.Kept()
		}
	}
	s.Answer = answer.String()
}
