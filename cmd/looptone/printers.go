package main

import (
	"bufio"
	"encoding/csv"
	"strconv"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

// printer is how the options want messages shown, and what shows them in a second
// run over the files, where one is needed.
func (o *decodeOptions) printer(out *bufio.Writer) (first, second printer) {
	switch {
	case o.json:
		return &jsonPrinter{out: out}, nil
	case o.summary:
		return &summaryPrinter{out: out}, nil
	case o.wide:
		table := view.NewWideTable()
		return columnFinder{table}, newCSVPrinter(out, table)
	case o.csv:
		return newCSVPrinter(out, view.NewTable()), nil
	}
	return &sentencePrinter{out: out, explain: o.explain, files: len(o.files) > 1}, nil
}

// sentencePrinter shows a sentence a message, and takes it apart if wanted.
type sentencePrinter struct {
	out     *bufio.Writer
	explain bool
	files   bool // there are several, so each line names its own
	strays  int  // hidden: one or two characters at the edge of a carrier
}

func (p *sentencePrinter) message(m *exchange.Message, trail *capture.Trail) {
	if m.EchoOf > 0 {
		return
	}
	if m.IsStray() {
		p.strays += len(m.Raw)
		return
	}
	line := p.appendWhere(room(p.out), m, trail)
	p.out.Write(append(view.AppendSentence(line, m), '\n'))
	if p.explain && m.Unanswered == 0 && m.Outcome == frame.Whole {
		p.out.WriteString(view.Explain(m))
	}
}

func (p *sentencePrinter) end() error {
	if p.strays > 0 {
		p.out.WriteString(count(p.strays, "stray character", "stray characters") + " at the edges of carriers not shown\n")
	}
	return nil
}

// appendWhere writes where a message stands, nine columns wide and two blanks.
func (p *sentencePrinter) appendWhere(dst []byte, m *exchange.Message, trail *capture.Trail) []byte {
	start := len(dst)
	at, known := trail.Position(m.Start)
	if p.files && known {
		dst = append(append(dst, at.File...), ' ')
	}
	if known && at.Line > 0 {
		dst = strconv.AppendInt(append(dst, "line "...), at.Line, 10)
	} else {
		dst = strconv.AppendInt(append(dst, "byte "...), m.Start, 10)
	}
	for len(dst) < start+9 {
		dst = append(dst, ' ')
	}
	return append(dst, "  "...)
}

// jsonPrinter shows a JSON object a message.
type jsonPrinter struct {
	out   *bufio.Writer
	lines view.JSON
}

func (p *jsonPrinter) message(m *exchange.Message, trail *capture.Trail) {
	if m.EchoOf > 0 {
		return
	}
	var place *view.Position
	if at, known := trail.Position(m.Start); known && at.Line > 0 {
		place = &view.Position{File: at.File, Line: at.Line, Column: at.Column}
	}
	p.out.Write(append(p.lines.Append(room(p.out), m, place), '\n'))
}

// room is where the next line goes: the buffer of out itself, which saves a copy.
func room(out *bufio.Writer) []byte {
	const enough = 4 << 10
	if out.Available() < enough {
		out.Flush()
	}
	return out.AvailableBuffer()
}

func (p *jsonPrinter) end() error { return nil }

// columnFinder shows nothing: it learns which columns there will be.
type columnFinder struct{ table *view.Table }

func (p columnFinder) message(m *exchange.Message, _ *capture.Trail) { p.table.Learn(m) }
func (p columnFinder) end() error                                    { return nil }

// csvPrinter shows the values of replies.
type csvPrinter struct {
	rows  *csv.Writer
	table *view.Table
}

func newCSVPrinter(out *bufio.Writer, table *view.Table) *csvPrinter {
	return &csvPrinter{csv.NewWriter(out), table}
}

func (p *csvPrinter) message(m *exchange.Message, _ *capture.Trail) { p.table.Write(p.rows, m) }

func (p *csvPrinter) end() error {
	p.rows.Flush()
	return p.rows.Error()
}

// summaryPrinter counts, and shows the counts.
type summaryPrinter struct {
	out    *bufio.Writer
	counts exchange.Statistics
}

func (p *summaryPrinter) message(m *exchange.Message, _ *capture.Trail) { p.counts.Add(m) }

func (p *summaryPrinter) end() error {
	_, err := p.out.WriteString(view.Summary(&p.counts))
	return err
}
