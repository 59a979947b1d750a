package main

import (
	"io"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange/findings"
	"looptone/serialio/capture"
)

// sightOf is what a capture shows of the hosts on one of its streams. Times of a
// capture are taken to be whole microseconds.
func sightOf(r *capture.Record) findings.Sight {
	_, timed := r.End.Since()
	pipe := r.Via == capture.Pipe
	return findings.Sight{
		Late: r.Late, Rounded: time.Microsecond,
		AtOnce: pipe, Single: timed && !pipe, Parity: r.Parity && !pipe,
		Direct: pipe || r.Via == capture.Wire, Watched: timed, Streams: r.Streams,
	}
}

// findingsPrinter judges the hosts, and shows what was found of them.
type findingsPrinter struct {
	out   io.Writer
	json  bool
	files bool // there are several
	judge *findings.Judge
	named []string // the file of each stream
}

func newFindingsPrinter(out io.Writer, json, files bool) *findingsPrinter {
	return &findingsPrinter{out: out, json: json, files: files, judge: findings.New(findings.Sight{Watched: true})}
}

func (p *findingsPrinter) message(m *heardMessage) {
	if m.torn {
		p.judge.Part()
		return
	}
	if p.files && m.from.number >= len(p.named) {
		p.named = append(p.named, make([]string, m.from.number+1-len(p.named))...)
		p.named[m.from.number] = m.from.file
	}
	p.judge.Look(m.from.sight)
	p.judge.Add(&m.Message)
}

func (p *findingsPrinter) gap(*gap, int) { p.judge.Part() }

func (p *findingsPrinter) end() error {
	p.judge.End()
	return writeFindings(p.out, p.judge, p.json, p.named)
}

// writeFindings shows what was found of the hosts: one JSON object a finding, or
// text. inputs are the names of the inputs that the streams are of, nil for one.
func writeFindings(out io.Writer, j *findings.Judge, json bool, inputs []string) error {
	if !json {
		_, err := io.WriteString(out, view.Findings(j, inputs))
		return err
	}
	var lines []byte
	for i, f := range j.Findings() {
		lines = append(view.AppendFinding(lines, i+1, &f), '\n')
	}
	_, err := out.Write(lines)
	return err
}
