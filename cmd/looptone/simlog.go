package main

import (
	"encoding/json"
	"io"
	"os"
	"strconv"

	"looptone/frame"
	"looptone/sim"
)

// A lineLog writes down what goes on a line, so that every rule can be checked
// from outside: JSON lines, all moments whole ticks of line time. The first
// object says which line it is,
//
//	{"line":"Quillmere","seed":1,"ticks_per_second":6000000}
//
// then comes one a carrier, when it goes on,
//
//	{"talker":"LT-103","on":1840000,"off":2430000,"level":0.5,"characters":[["ff",1865000,1920000],…]}
//
// and behind the last one how far the line has run,
//
//	{"end":600000000}
//
// On and off are those of the carrier; level is in volts peak to peak at a
// receiver, and too little of it is heard by nobody. A character is its byte, the
// edge of its start bit and the end of its stop bit; a fourth word is there where
// it was sent wrongly: p with a wrong parity bit, f without a stop bit. What a host
// outside sends has no carrier: it is logged in the pieces in which it arrives.
// Two carriers that overlap spoil each other, which is not in the log.
type lineLog struct {
	out  io.Writer // must not block where the line is one in real time
	text []byte

	ended          sim.Tick // the last character
	digits, length int      // that moment in text
}

// newLineLog begins the log of a line that has not run yet.
func newLineLog(out io.Writer, name string, seed uint64) *lineLog {
	l := &lineLog{out: out}
	l.text = append(l.text, `{"line":`...)
	l.text = appendQuoted(l.text, name)
	l.text = append(l.text, `,"seed":`...)
	l.text = strconv.AppendUint(l.text, seed, 10)
	l.number(`,"ticks_per_second":`, int64(sim.Second))
	l.write("}\n")
	return l
}

func (l *lineLog) carrier(talker *sim.Seat, b *sim.Burst) {
	if l == nil {
		return
	}
	l.text = append(l.text, `{"talker":`...)
	l.text = appendQuoted(l.text, talker.Name)
	l.number(`,"on":`, int64(b.At))
	l.number(`,"off":`, int64(b.Off()))
	l.text = append(l.text, `,"level":`...)
	l.text = strconv.AppendFloat(l.text, float64(levelOf(b)), 'g', -1, 32)
	l.text = append(l.text, `,"characters":[`...)
	for i := range b.Chars {
		l.character(b, i)
	}
	l.write("]}\n")
}

// character writes character i. Most begin where the one before has ended, so that
// moment is put into digits once.
func (l *lineLog) character(b *sim.Burst, i int) {
	if i > 0 {
		l.text = append(l.text, ',')
	}
	c := b.Chars[i]
	l.text = append(l.text, '[', '"', hexDigits[c>>4], hexDigits[c&15], '"', ',')
	if start := b.Start(i); i > 0 && start == l.ended {
		l.text = append(l.text, l.text[l.digits:l.digits+l.length]...)
	} else {
		l.text = strconv.AppendInt(l.text, int64(start), 10)
	}
	l.text = append(l.text, ',')
	l.ended, l.digits = b.End(i), len(l.text)
	l.text = strconv.AppendInt(l.text, int64(l.ended), 10)
	l.length = len(l.text) - l.digits
	if len(b.Marks) > 0 {
		l.mark(b, i)
	}
	l.text = append(l.text, ']')
}

const hexDigits = "0123456789abcdef"

// mark says what is wrong with character i as it is sent.
func (l *lineLog) mark(b *sim.Burst, i int) {
	mark := markOf(b, i)
	if mark != "" {
		l.text = append(l.text, ',', '"')
		l.text = append(l.text, mark...)
		l.text = append(l.text, '"')
	}
}

// end says how far the line has run: nothing more went on it until then.
func (l *lineLog) end(at sim.Tick) {
	if l == nil {
		return
	}
	l.number(`{"end":`, int64(at))
	l.write("}\n")
}

func (l *lineLog) number(key string, n int64) {
	l.text = append(l.text, key...)
	l.text = strconv.AppendInt(l.text, n, 10)
}

// write writes what was put together, in one go.
func (l *lineLog) write(last string) {
	l.text = append(l.text, last...)
	l.out.Write(l.text)
	l.text = l.text[:0]
}

func appendQuoted(dst []byte, s string) []byte {
	quoted, err := json.Marshal(s)
	if err != nil {
		panic(err) // no string is refused
	}
	return append(dst, quoted...)
}

func levelOf(b *sim.Burst) float32 {
	if b.Level == 0 {
		return sim.NominalLevel
	}
	return b.Level
}

// markOf is that in letters: none for nothing.
func markOf(b *sim.Burst, i int) (mark string) {
	for _, m := range b.Marks {
		if m.Pos == int64(i) && m.Mark&frame.Parity != 0 {
			mark += "p"
		}
		if m.Pos == int64(i) && m.Mark&frame.Framing != 0 {
			mark += "f"
		}
	}
	return mark
}

// createLog creates the file that the log goes to; nil where there is none. It must
// not be one that the line is made of.
func (o *simOptions) createLog() (*os.File, error) {
	if o.log == "" || o.log == "-" {
		return nil, nil
	}
	for _, read := range [...]struct{ what, file string }{{"the line file", o.file}, {"the --state", o.state.file}} {
		if err := refuseSameFile("--log", o.log, read.what, read.file); err != nil {
			return nil, err
		}
	}
	return os.Create(o.log)
}

// newLog begins the log, on out; nil where none is wanted.
func (s *simulation) newLog(out io.Writer) *lineLog {
	if s.log == "" {
		return nil
	}
	return newLineLog(out, s.assembly.Name, s.seed)
}
