package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"strconv"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

// printer is how the options want messages shown, and what shows them in a second
// run over the files, where one is needed.
func (o *decodeOptions) printer(out *background) (first, second printer) {
	switch {
	case o.findings:
		return newFindingsPrinter(out, o.json, len(o.files) > 1), nil
	case o.json:
		return &jsonPrinter{out: out}, nil
	case o.summary:
		return &summaryPrinter{out: out, part: o.filterFlags.any(), files: len(o.files) > 1}, nil
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
	out     *background
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
		p.out.take(append(view.AppendTorn(p.appendWhere(p.out.room(), m), &m.Message), '\n'))
		return
	case m.IsStray():
		p.strays += len(m.Raw)
		return
	}
	line := view.AppendSentence(p.appendWhere(p.out.room(), m), &m.Message)
	p.out.take(append(appendPlace(line, m), '\n'))
	if p.explain && m.Unanswered == 0 && m.Outcome == frame.Whole {
		p.out.WriteString(view.Explain(&m.Message))
	}
}

func (p *sentencePrinter) gap(*gap, int) {}

func (p *sentencePrinter) end() error {
	if p.strays > 0 {
		p.out.WriteString(count(p.strays, "stray character", "stray characters") + " at the edges of carriers not shown\n")
	}
	return nil
}

// appendWhere writes when a message was, or else where it stands: nine columns wide
// at least, and two blanks. Of several streams it names the one.
func (p *sentencePrinter) appendWhere(dst []byte, m *heardMessage) []byte {
	start := len(dst)
	at, clocked := m.Span.Clock()
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
	case known && place.Sampled:
		dst = strconv.AppendInt(append(dst, "sample "...), place.Sample, 10)
	case known && place.Packet > 0:
		dst = strconv.AppendInt(append(dst, "packet "...), place.Packet, 10)
	default:
		dst = strconv.AppendInt(append(dst, "byte "...), m.Start, 10)
	}
	for len(dst) < start+9 {
		dst = append(dst, ' ')
	}
	dst = append(dst, "  "...)
	if !m.from.alone {
		dst = append(append(dst, m.from.title()...), "  "...)
	}
	return dst
}

// appendPlace writes where in its file the fault of a damage stands.
func appendPlace(dst []byte, m *heardMessage) []byte {
	fault, ok := m.Err.(*frame.FaultError)
	if !ok || m.Unanswered > 0 {
		return dst
	}
	at := fault.At
	if fault.Err == frame.ErrCut { // what is missing has no place
		at = m.End - 1
	}
	place, known := m.from.trail.Position(at)
	switch {
	case known && place.Line > 0:
		return fmt.Appendf(dst, "  (line %d, column %d)", place.Line, place.Column)
	case known && place.Sampled:
		return fmt.Appendf(dst, "  (sample %d)", place.Sample)
	case known && place.Packet > 0:
		return fmt.Appendf(dst, "  (packet %d, byte %d)", place.Packet, place.Byte)
	}
	return dst
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
	out   *background
	lines view.JSON
}

func (p *jsonPrinter) message(m *heardMessage) {
	if m.EchoOf > 0 {
		return
	}
	var place *view.Position
	if m.from.lines {
		if at, known := m.from.trail.Position(m.Start); known {
			place = shownPlace(at)
		}
	}
	line := p.out.room()
	if m.torn {
		line = p.lines.AppendTorn(line, &m.Message, place)
	} else {
		line = p.lines.Append(line, &m.Message, place)
	}
	p.out.take(append(line, '\n'))
}

// gap tells a reader of the objects that the input has a hole.
func (p *jsonPrinter) gap(g *gap, number int) {
	if !g.torn() {
		return
	}
	lost := view.Lost{Number: number, Stream: g.stream, Pos: g.pos, Span: g.at, Characters: g.lost}
	if syntax := (*capture.SyntaxError)(nil); errors.As(g.damage, &syntax) {
		lost.Place = shownPlace(syntax.Position)
		lost.Text = syntax.Err.Error()
	}
	p.out.take(append(p.lines.AppendLost(p.out.room(), &lost), '\n'))
}

func (p *jsonPrinter) end() error { return nil }

func shownPlace(at capture.Position) *view.Position {
	return &view.Position{File: at.File, Line: at.Line, Column: at.Column, Packet: at.Packet, Byte: at.Byte, Sampled: at.Sampled, Sample: at.Sample}
}

// columnFinder shows nothing: it learns which columns there will be.
type columnFinder struct{ table *view.Table }

func (p columnFinder) message(m *heardMessage) { p.table.Learn(&m.Message) }
func (p columnFinder) gap(*gap, int)           {}
func (p columnFinder) end() error              { return nil }

// csvPrinter shows the values of replies.
type csvPrinter struct {
	rows  *csv.Writer
	table *view.Table
}

func newCSVPrinter(out *background, table *view.Table) *csvPrinter {
	return &csvPrinter{csv.NewWriter(out), table}
}

func (p *csvPrinter) message(m *heardMessage) {
	p.table.Write(p.rows, &m.Message)
	p.rows.Flush() // into out, which is flushed for who waits
}

func (p *csvPrinter) gap(*gap, int) {}

func (p *csvPrinter) end() error {
	p.table.Head(p.rows)
	p.rows.Flush()
	return p.rows.Error()
}

// summaryPrinter counts, and shows the counts.
type summaryPrinter struct {
	out    *background
	part   bool // not everything is counted
	files  bool // there are several
	counts exchange.Statistics
	torn   int      // characters
	named  []string // the file of each stream
}

func (p *summaryPrinter) message(m *heardMessage) {
	if m.torn {
		p.torn += int(m.End-m.Start) + m.Preambles
		return
	}
	if p.files && m.from.number >= len(p.named) {
		p.named = append(p.named, make([]string, m.from.number+1-len(p.named))...)
		p.named[m.from.number] = m.from.file
	}
	p.counts.Add(&m.Message)
}

func (p *summaryPrinter) gap(*gap, int) { p.counts.Part() }

func (p *summaryPrinter) end() error {
	if p.part {
		p.out.WriteString("counted is only what passes the filter\n")
	}
	_, err := p.out.WriteString(view.SummaryOf(&p.counts, p.named))
	if p.torn > 0 {
		_, err = fmt.Fprintf(p.out, "\n%s beside what the input has lost not counted\n", count(p.torn, "character", "characters"))
	}
	return err
}
