package view

import (
	"fmt"
	"strings"
	"sync"
	"time"

	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/master"
)

// A Board is a table of what a poll reads, one row a query, that is redrawn in
// place. Its methods may be called from any goroutine and keep nobody waiting.
type Board struct {
	mu     sync.Mutex
	line   string // its name
	book   *payload.Book
	began  time.Time
	rows   []boardRow
	said   []string // the last of what a person should know
	fared  map[string]int64
	spoken time.Duration // time that transactions had the line
	now    func() time.Time
}

// boardRow is what is known of a query.
type boardRow struct {
	query   *master.Query
	device  string
	value   string    // that it answered last
	at      time.Time // when that was; zero for never
	took    time.Duration
	trouble string // why there is no newer one
	lately  []rune // a mark for each of the last requests, the newest last
}

// mostLately is how many marks are kept.
const mostLately = 60

// NewBoard is an empty board for the line of that name. The book names the commands;
// nil has the built-in definitions.
func NewBoard(line string, book *payload.Book) *Board {
	return &Board{line: clean(line), book: book, began: time.Now(), now: time.Now, fared: map[string]int64{}}
}

// Expect makes a row for each query; name is what its device is called.
func (b *Board) Expect(schedule []master.Query, name func(master.Target) string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.began, b.rows = b.now(), nil
	for i := range schedule {
		q := &schedule[i]
		b.rows = append(b.rows, boardRow{query: q, device: clean(name(q.Device))})
	}
}

// Tell takes over a reading; m is the reply, or the request as one that stayed
// unanswered, and name what the device is called.
func (b *Board) Tell(r *master.Reading, m *exchange.Message, name string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.fared[fared(r)]++
	b.spoken += r.Occupied.Duration()
	for i := range b.rows {
		row := &b.rows[i]
		if row.query.Device != r.Query.Device {
			continue
		}
		row.device = clean(name)
		if asked := row.query == r.Query && row.query.Command == r.Command; asked || fared(r) != "answered" && r.Command != r.Query.Command {
			row.take(r, m, b.now())
		}
	}
}

// Say shows a text below the table, in place of one that is older.
func (b *Board) Say(text string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.said = append(b.said, clean(text))
	b.said = b.said[max(0, len(b.said)-mostSaid):]
}

// mostSaid is how many texts stand below the table.
const mostSaid = 2

func (r *boardRow) take(reading *master.Reading, m *exchange.Message, now time.Time) {
	mark := markOf(reading)
	r.lately = append(r.lately, mark)
	r.lately = r.lately[max(0, len(r.lately)-mostLately):]
	if fared(reading) != "answered" {
		r.trouble = troubles[fared(reading)]
		return
	}
	r.trouble, r.took, r.at = "", reading.ResponseTime.Duration(), now
	r.value = clean(shortAnswer(m))
}

var troubles = map[string]string{
	"silent": "does not answer", "damaged": "cannot be read", "busy": "is busy",
}

// A bar is as high as a reply was late, full at the slave time-out.
var bars = []rune("▁▂▃▄▅▆▇█")

func markOf(r *master.Reading) rune {
	switch fared(r) {
	case "silent":
		return '×'
	case "damaged":
		return '≠'
	case "busy":
		return '…'
	}
	n := int(r.ResponseTime * sim.Tick(len(bars)) / sim.SlaveTimeOut)
	return bars[max(0, min(n, len(bars)-1))]
}

// shortAnswer is what a reply says, measured values with five digits and without
// their names.
func shortAnswer(m *exchange.Message) string {
	var parts []string
	for v := range measured(m) {
		x, _ := v.Number()
		text := strings.TrimSpace(fmt.Sprintf("%.5g %s", x, v.UnitSymbol()))
		if v.Slot >= 0 {
			text = fmt.Sprintf("%d: %s", v.Slot, text)
		}
		parts = append(parts, text)
	}
	if len(parts) > 0 {
		return strings.Join(parts, "  ")
	}
	var p prose
	p.answer(m)
	return strings.TrimSpace(string(p.b))
}

// clean is text without what would move on a terminal.
func clean(text string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return '·'
		}
		return r
	}, text)
}
