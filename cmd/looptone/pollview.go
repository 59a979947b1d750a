package main

import (
	"bufio"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"syscall"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim/master"
)

// A pollView shows what a poll reads. All but say are called by one goroutine at a
// time, that of the line, which must not be kept waiting.
type pollView interface {
	expect(schedule []master.Query, name func(master.Target) string)
	reading(r *master.Reading, m *exchange.Message, name string)
	say(text string) // one at a time
	end(counted *view.Polled) error
}

// pollLines shows one line a reading: a sentence, an object, or rows of a table.
type pollLines struct {
	out    io.Writer
	close  func() error
	write  func(r *master.Reading, m *exchange.Message, name string)
	finish func(counted *view.Polled)
	head   func()
	stderr io.Writer
	err    error
	stop   func() // nobody reads any more
}

func newPollLines(o *pollOptions, stop func(), stdout, stderr io.Writer) *pollLines {
	l := &pollLines{stop: stop, stderr: stderr, head: func() {}}
	if o.fast {
		out := bufio.NewWriter(stdout)
		l.out, l.close = out, out.Flush
	} else {
		signal.Ignore(syscall.SIGPIPE)
		out, aside := newSpool(stdout, stop), newSpool(stderr, func() {})
		l.out, l.stderr = out, aside
		l.close = func() error {
			aside.Close()
			return unless(out.Close(), syscall.EPIPE)
		}
	}
	switch {
	case o.json:
		l.showObjects()
	case o.csv:
		l.showTable()
	default:
		l.showSentences()
	}
	return l
}

// unless is err, but for one that is no failure.
func unless(err, fine error) error {
	if errors.Is(err, fine) {
		return nil
	}
	return err
}

func (l *pollLines) showSentences() {
	l.write = func(r *master.Reading, m *exchange.Message, name string) {
		l.put(fmt.Appendf(nil, "%s  %s\n", momentText(&m.Span), view.ReadingSentence(r, m, name)))
	}
	l.finish = func(counted *view.Polled) { l.put([]byte("\n" + counted.String())) }
}

func (l *pollLines) showObjects() {
	var lines view.JSON
	l.write = func(r *master.Reading, m *exchange.Message, name string) {
		l.put(append(lines.AppendReading(nil, r, m, name), '\n'))
	}
	l.finish = func(counted *view.Polled) { l.put(counted.AppendJSON(nil)) }
}

func (l *pollLines) showTable() {
	rows, table := csv.NewWriter(putter(l.put)), view.NewTable()
	l.write = func(_ *master.Reading, m *exchange.Message, _ string) {
		table.Write(rows, m)
		rows.Flush()
	}
	l.head = func() { table.Head(rows); rows.Flush() }
	l.finish = func(counted *view.Polled) { io.WriteString(l.stderr, counted.String()) }
}

// putter is a writer of whole lines.
type putter func([]byte)

func (p putter) Write(b []byte) (int, error) { p(b); return len(b), nil }

func (l *pollLines) put(b []byte) {
	if _, err := l.out.Write(b); err != nil && l.err == nil {
		l.err = err
		l.stop()
	}
}

func (l *pollLines) expect([]master.Query, func(master.Target) string) { l.head() }

func (l *pollLines) reading(r *master.Reading, m *exchange.Message, name string) { l.write(r, m, name) }

func (l *pollLines) say(text string) { fmt.Fprintln(l.stderr, text) }

func (l *pollLines) end(counted *view.Polled) error {
	if counted != nil {
		l.finish(counted)
	}
	return cmp.Or(l.err, l.close())
}

// pollTable shows a table that is redrawn in place.
type pollTable struct {
	*view.Board
	stdout, stderr io.Writer
	held           []string // said while the table was on the same terminal
	holds          bool
	finished       func() error // takes the table off the terminal
}

func newPollTable(line string, book *payload.Book, stop func(), stdin io.Reader, stdout, stderr io.Writer) *pollTable {
	t := &pollTable{Board: view.NewBoard(line, book), stdout: stdout, stderr: stderr, holds: isTerminal(stderr)}
	var keys io.Reader
	if f, ok := stdin.(io.Writer); ok && isTerminal(f) {
		keys = stdin
	}
	t.finished = t.Board.Show(keys, stdout, stop)
	return t
}

func (t *pollTable) expect(schedule []master.Query, name func(master.Target) string) {
	t.Board.Expect(schedule, name)
}

func (t *pollTable) reading(r *master.Reading, m *exchange.Message, name string) {
	t.Board.Tell(r, m, name)
}

func (t *pollTable) say(text string) {
	t.Board.Say(text)
	if t.holds {
		t.held = append(t.held, text)
		return
	}
	fmt.Fprintln(t.stderr, text)
}

func (t *pollTable) end(counted *view.Polled) error {
	err := t.finished()
	for _, text := range t.held {
		fmt.Fprintln(t.stderr, text)
	}
	if counted != nil {
		_, writeErr := io.WriteString(t.stdout, counted.String())
		err = cmp.Or(err, writeErr)
	}
	return err
}
