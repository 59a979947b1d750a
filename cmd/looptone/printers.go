package main

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"strconv"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
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
	files   bool   // there are several, so each line names its own
	strays  int    // hidden: one or two characters at the edge of a carrier
	day     string // of the last message, where it is known
}

func (p *sentencePrinter) message(m *heardMessage) {
	switch {
	case m.EchoOf > 0:
		return
	case m.torn:
		p.out.Write(append(view.AppendTorn(p.appendWhere(room(p.out), m), &m.Message), '\n'))
		return
	case m.IsStray():
		p.strays += len(m.Raw)
		return
	}
	line := p.appendWhere(room(p.out), m)
	p.out.Write(append(view.AppendSentence(line, &m.Message), '\n'))
	if p.explain && m.Unanswered == 0 && m.Outcome == frame.Whole {
		p.out.WriteString(view.Explain(&m.Message))
	}
}

func (p *sentencePrinter) end() error {
	if p.strays > 0 {
		p.out.WriteString(count(p.strays, "stray character", "stray characters") + " at the edges of carriers not shown\n")
	}
	return nil
}

// appendWhere writes when a message was, or else where it stands: nine columns wide
// at least, and two blanks.
func (p *sentencePrinter) appendWhere(dst []byte, m *heardMessage) []byte {
	start := len(dst)
	at, clocked := m.at()
	if at = at.Round(time.Millisecond); clocked {
		dst = p.appendDay(dst, at)
		start = len(dst)
	}
	place, known := m.from.trail.Position(m.Start)
	if p.files && known {
		dst = append(append(dst, place.File...), ' ')
	}
	switch {
	case clocked:
		dst = at.AppendFormat(dst, "15:04:05.000")
	case m.Span.Known:
		dst = fmt.Appendf(dst, "%9.3f s", m.Span.Start.Seconds())
	case known && place.Line > 0:
		dst = strconv.AppendInt(append(dst, "line "...), place.Line, 10)
	default:
		dst = strconv.AppendInt(append(dst, "byte "...), m.Start, 10)
	}
	for len(dst) < start+9 {
		dst = append(dst, ' ')
	}
	return append(dst, "  "...)
}

// appendDay writes the date on a line of its own, where another begins.
func (p *sentencePrinter) appendDay(dst []byte, at time.Time) []byte {
	var room [len(time.DateOnly)]byte
	if day := at.AppendFormat(room[:0], time.DateOnly); string(day) != p.day {
		p.day = string(day)
		dst = append(append(dst, day...), '\n')
	}
	return dst
}

// jsonPrinter shows a JSON object a message.
type jsonPrinter struct {
	out   *bufio.Writer
	lines view.JSON
}

func (p *jsonPrinter) message(m *heardMessage) {
	if m.EchoOf > 0 {
		return
	}
	var place *view.Position
	if at, known := m.from.trail.Position(m.Start); known && at.Line > 0 {
		place = &view.Position{File: at.File, Line: at.Line, Column: at.Column}
	}
	p.lines.Origin = m.from.origin
	line := room(p.out)
	if m.torn {
		line = p.lines.AppendTorn(line, &m.Message, place)
	} else {
		line = p.lines.Append(line, &m.Message, place)
	}
	p.out.Write(append(line, '\n'))
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

func (p columnFinder) message(m *heardMessage) { p.table.Learn(&m.Message) }
func (p columnFinder) end() error              { return nil }

// csvPrinter shows the values of replies.
type csvPrinter struct {
	rows  *csv.Writer
	table *view.Table
}

func newCSVPrinter(out *bufio.Writer, table *view.Table) *csvPrinter {
	return &csvPrinter{csv.NewWriter(out), table}
}

func (p *csvPrinter) message(m *heardMessage) { p.table.Write(p.rows, &m.Message) }

func (p *csvPrinter) end() error {
	p.rows.Flush()
	return p.rows.Error()
}

// summaryPrinter counts, and shows the counts.
type summaryPrinter struct {
	out    *bufio.Writer
	counts exchange.Statistics
	torn   int // characters
	file   int
	shift  time.Duration // of the times in that file: they go on behind those of the one before
}

func (p *summaryPrinter) message(m *heardMessage) {
	if m.torn {
		p.torn += int(m.End-m.Start) + m.Preambles
		return
	}
	if m.file != p.file {
		p.file = m.file
		_, p.shift, _ = p.counts.Span()
	}
	if p.shift > 0 {
		m.Span.Begin += p.shift
		m.Span.Start += p.shift
		m.Span.End += p.shift
	}
	p.counts.Add(&m.Message)
}

func (p *summaryPrinter) end() error {
	_, err := p.out.WriteString(view.Summary(&p.counts))
	if p.torn > 0 {
		_, err = fmt.Fprintf(p.out, "\n%s beside what the input has lost not counted\n", count(p.torn, "character", "characters"))
	}
	return err
}
