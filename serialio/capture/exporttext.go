package capture

import (
	"io"
	"slices"
	"strconv"
	"strings"

	"looptone/frame"
)

// rawExport writes the characters, and nothing else.
type rawExport struct{ w io.Writer }

func (e *rawExport) record(rec *exported, lost *omissions) error {
	lost.comments(rec)
	_, err := e.w.Write(rec.Chars)
	return err
}

func (e *rawExport) end() error { return nil }

// hexExport writes a line for each stretch of characters; times, streams and marks are
// comments, which nobody reads back.
type hexExport struct {
	w      io.Writer
	buf    []byte // the line, as long as it may go on
	chars  int    // on it
	stream uint8
	note   []byte // the comment behind them
	marked []byte // the marks in it
}

// mostHex is how many characters a line has.
const mostHex = 512

func (e *hexExport) record(rec *exported, lost *omissions) error {
	lost.comments(rec)
	if len(rec.Chars) == 0 || rec.Stream != e.stream || rec.has(frame.Cut|frame.Line|frame.Gap) {
		if err := e.end(); err != nil {
			return err
		}
	}
	e.stream = rec.Stream
	marks := rec.marks
	for i, c := range rec.Chars {
		if e.chars == mostHex {
			if err := e.end(); err != nil {
				return err
			}
		}
		if e.chars++; e.chars == 1 {
			e.begin(rec, i)
		} else {
			e.buf = append(e.buf, ' ')
		}
		e.buf = append(e.buf, hexDigits[c>>4], hexDigits[c&0xf])
		var mark frame.Mark
		mark, marks = markOf(marks, i)
		e.marked = appendMarked(e.marked, e.chars, mark)
	}
	return nil
}

// begin begins a comment, which tells of character i of a record.
func (e *hexExport) begin(rec *exported, i int) {
	if at := rec.Start.plus(int64(i)); at.known {
		e.note = append(appendSigned(append(e.note, ' '), at.since), " s"...)
	}
	if rec.Streams > 1 {
		e.note = strconv.AppendUint(append(e.note, " stream "...), uint64(rec.Stream), 10)
	}
}

// end ends the line.
func (e *hexExport) end() (err error) {
	if e.chars == 0 {
		return nil
	}
	if len(e.marked) > 0 {
		e.note = append(append(e.note, " "+marksComment...), e.marked...)
	}
	if len(e.note) > 0 {
		e.buf = append(append(e.buf, "  #"...), e.note...)
	}
	_, err = e.w.Write(append(e.buf, '\n'))
	e.buf, e.note, e.marked, e.chars = e.buf[:0], e.note[:0], e.marked[:0], 0
	return err
}

// appendMarked writes the marks of a character behind its number, from 1: " 3p".
func appendMarked(b []byte, number int, mark frame.Mark) []byte {
	if mark &= onCharacters; mark == 0 {
		return b
	}
	return appendMarks(strconv.AppendInt(append(b, ' '), int64(number), 10), mark)
}

// csvExport writes a row for each character: when its start bit began in seconds, the
// stream that it was on, the character in hex, and the words for its marks.
type csvExport struct {
	w      io.Writer
	begun  bool
	buf    []byte
	titles [mostStreams]string
	last   [mostStreams]Stamp
}

const csvHead = "time,stream,hex,marks\n"

// markNames are the words for marks in CSV.
var markNames = [...]struct {
	mark frame.Mark
	name string
}{{frame.Parity, "parity"}, {frame.Framing, "framing"}, {frame.Gap, "gap"}, {frame.Line, "line"}, {frame.Cut, "cut"}}

func (e *csvExport) record(rec *exported, lost *omissions) error {
	lost.news(rec)
	lost[lostStreams] = 0
	if rec.Late > 0 {
		lost[lostLate] = 1
	}
	e.buf = e.buf[:0]
	if !e.begun {
		e.begun, e.buf = true, append(e.buf, csvHead...)
	}
	marks := rec.marks
	for i, c := range rec.Chars {
		if at := rec.Start.plus(int64(i)); at.known {
			e.buf = appendSigned(e.buf, e.forward(rec.Stream, at, lost).since)
		}
		e.buf = append(append(append(e.buf, ','), e.title(rec)...), ',', hexDigits[c>>4], hexDigits[c&0xf], ',')
		var mark frame.Mark
		if mark, marks = markOf(marks, i); mark != 0 {
			e.buf = appendMarkNames(e.buf, mark)
		}
		e.buf = append(e.buf, '\n')
	}
	_, err := e.w.Write(e.buf)
	return err
}

func (e *csvExport) end() (err error) {
	if !e.begun {
		_, err = io.WriteString(e.w, csvHead)
	}
	return err
}

// forward is the time of a character, but not before that of the one in front of it: who
// reads a table takes that for a mistake.
func (e *csvExport) forward(stream uint8, at Stamp, lost *omissions) Stamp {
	last := &e.last[stream]
	if last.known && at.since < last.since {
		lost[lostOverlaps]++
		return *last
	}
	*last = at
	return at
}

// title is what a stream is called in its column: its name, if no other one has it.
func (e *csvExport) title(rec *exported) string {
	title := &e.titles[rec.Stream]
	if *title != "" {
		return *title
	}
	name := "stream " + strconv.Itoa(int(rec.Stream))
	if rec.Name != "" {
		name = rec.Name
	}
	name = fieldOf(name)
	if slices.Contains(e.titles[:], name) {
		name = fieldOf(rec.Name + " (" + strconv.Itoa(int(rec.Stream)) + ")")
	}
	*title = name
	return name
}

// fieldOf is a field of CSV, in quotation marks where it needs them.
func fieldOf(text string) string {
	if !strings.ContainsAny(text, ",;\"\r\n\t ") {
		return text
	}
	text = strings.NewReplacer("\r", " ", "\n", " ").Replace(text)
	return `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
}

func appendMarkNames(b []byte, mark frame.Mark) []byte {
	sep := false
	for _, m := range markNames {
		if mark&m.mark == 0 {
			continue
		}
		if sep {
			b = append(b, ' ')
		}
		b, sep = append(b, m.name...), true
	}
	return b
}
