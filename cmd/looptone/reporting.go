package main

import (
	"path/filepath"
	"strings"

	"looptone/cmd/looptone/report"
	"looptone/frame/exchange"
)

// reportCaution is for whoever goes to a loop with a report in hand. Source: common
// practice.
const reportCaution = "Values and addresses in this report are of the time at which they were heard. Before anything is written to a device or a loop is opened: put the control loop in manual, and follow the site's permit, the area classification, local codes and licensed practice."

// cautionsOf are cautions as sentences of a page.
func cautionsOf(texts ...string) (said []string) {
	for _, text := range texts {
		text = strings.TrimPrefix(strings.Join(strings.Fields(text), " "), "caution: ")
		said = append(said, strings.ToUpper(text[:1])+text[1:])
	}
	return said
}

// A reportPrinter has messages shown, and keeps them for a report.
type reportPrinter struct {
	printer
	traffic *report.Traffic
	named   []string // the file of each stream, where there are several
	files   bool
}

// reported has what p shows kept for a report, if one is wanted.
func (o *decodeOptions) reported(p printer) (shown printer, traffic *report.Traffic) {
	if o.report == "" {
		return p, nil
	}
	traffic = report.NewTraffic(report.Source{Title: o.reportTitle(), Says: o.reportSays(), Cautions: []string{reportCaution}})
	return &reportPrinter{printer: p, traffic: traffic, files: len(o.files) > 1}, traffic
}

func (o *decodeOptions) reportTitle() string {
	if name, live := o.tapped.real(); live {
		return "Traffic heard at " + name
	}
	return "Traffic in " + shortList(o.files)
}

// shortList names files, of many the first ones.
func shortList(files []string) string {
	var names []string
	for _, name := range files {
		if name == "-" {
			name = "stdin"
		}
		names = append(names, filepath.Base(name))
	}
	if len(names) > 3 {
		names = append(names[:3:3], count(len(names)-3, "more file", "more files"))
	}
	return strings.Join(names, ", ")
}

// reportSays is what was chosen.
func (o *decodeOptions) reportSays() (said []string) {
	if o.filterFlags.any() {
		said = append(said, "Only messages that pass the filter of the command are in this report, and counted.")
	}
	return said
}

func (p *reportPrinter) message(m *heardMessage) {
	p.printer.message(m)
	if p.files && m.EchoOf == 0 && m.from.number >= len(p.named) {
		p.named = append(p.named, make([]string, m.from.number+1-len(p.named))...)
		p.named[m.from.number] = m.from.file
	}
	var place string
	if m.Err != nil && !m.torn {
		place = strings.TrimSpace(string(appendPlace(nil, m)))
	}
	p.traffic.Add(&m.Message, m.torn, place)
}

func (p *reportPrinter) gap(g *gap, number int) {
	p.printer.gap(g, number)
	p.traffic.Part()
	if g.torn() {
		p.traffic.Hole()
	}
}

func (p *reportPrinter) end() error {
	p.traffic.Inputs(p.named)
	if judged, ok := p.printer.(*findingsPrinter); ok {
		p.traffic.Judged(judged.judge)
	}
	return p.printer.end()
}

// reported has what a poll reads kept for a report, if one is wanted.
func (p *polling) reported() *report.Traffic {
	if p.report == "" {
		return nil
	}
	traffic := report.NewTraffic(report.Source{
		Title:    "Poll of " + p.title(),
		Says:     []string{"This is what this master asked and heard; what others said on the line is not in it, and bytes of replies that could not be read are not kept."},
		Cautions: []string{reportCaution},
	})
	p.follow.Each = func(m *exchange.Message) { traffic.Add(m, false, "") }
	return traffic
}
