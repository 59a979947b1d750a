package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/serialio"
	"looptone/sim"
	"looptone/sim/master"
)

// A polling is one poll while it goes on.
type polling struct {
	*pollOptions
	poll   master.Poll
	vigil  *vigil
	follow master.Follower
	show   pollView
	stop   context.CancelFunc

	last  exchange.Message                // that the last transaction has ended with
	names map[string]string               // of devices, by what the poll calls them
	met   map[frame.Address]frame.Address // unique addresses of who has introduced himself, by what he was asked by
	began sim.Tick                        // of the poll itself
	begun bool                            // it has
	late  view.Lateness
	err   error // why it could not begin

	saying sync.Mutex
	stderr io.Writer
}

func newPolling(o *pollOptions, h *host) *polling {
	p := &polling{pollOptions: o, names: map[string]string{}, met: map[frame.Address]frame.Address{}}
	p.poll = master.Poll{Retries: o.retries, Rounds: o.rounds, Tell: p.tell}
	p.follow = master.Follower{Primary: h.config.Primary}
	p.follow.Book, p.follow.Alone = o.book, true
	if h.wire != nil {
		p.follow.Origin = time.Now()
	}
	p.vigil = newVigil(h, p.follow.Observe(p.script, p.heard))
	p.vigil.say, p.vigil.late = p.say, p.tellLate
	p.vigil.open = func(ctx context.Context) (*serialio.Port, error) {
		return o.wireFlags.open(ctx, io.Discard) // the caution was shown before the first time
	}
	return p
}

// run polls until ctx or the poll itself ends, and shows the statistics.
func (p *polling) run(ctx context.Context, stdin io.Reader, stdout, stderr io.Writer) error {
	p.stderr = stderr
	ctx, p.stop = context.WithCancel(ctx)
	defer p.stop()
	p.show = p.view(stdin, stdout, stderr)
	err := p.work(ctx)
	if !p.begun && err == nil && p.err == nil {
		p.say("it ended before it was known which devices there are: nothing was polled")
	}
	showErr := p.show.end(p.counted())
	return cmp.Or(err, p.err, showErr, p.verdict())
}

func (p *polling) work(ctx context.Context) error {
	if p.fast {
		end := sim.Never
		if p.length.span > 0 {
			end = sim.Ticks(p.length.span)
		}
		return p.vigil.runFast(ctx, end)
	}
	if p.length.span > 0 {
		var done context.CancelFunc
		ctx, done = context.WithTimeout(ctx, p.length.span)
		defer done()
	}
	return p.vigil.run(ctx)
}

// script introduces the devices, and then polls them.
func (p *polling) script(yield func(*master.Transaction) bool) {
	if !p.introduce(yield) {
		return
	}
	schedule, err := p.schedule()
	if err != nil {
		p.err = usageError{err}
		return
	}
	if len(schedule) == 0 {
		p.err = errNobody
		return
	}
	p.poll.Queries = schedule
	p.began, p.begun = p.vigil.line.Now(), true
	p.show.expect(schedule, p.nameOf)
	p.poll.Run(yield)
}

// schedule is what is to be asked, now that it is known whom.
func (p *polling) schedule() ([]master.Query, error) {
	all := append(p.known[:len(p.known):len(p.known)], p.asked...)
	named := map[frame.Address]master.Target{} // by what each device is called first
	for i := range all {
		a, of := &all[i], payload.AnyDevice
		if unique, ok := p.uniqueOf(a.device); ok {
			of = payload.DeviceTypeOf(unique)
			if _, called := named[unique]; !called {
				named[unique] = a.device
			}
			a.device = named[unique]
		}
		if err := a.check(p.book, of); err != nil {
			return nil, err
		}
	}
	schedule, err := queries(all)
	if err == nil {
		err = checkLoad(schedule)
	}
	return schedule, err
}

// heard is told of every transaction that has ended.
func (p *polling) heard(_ *master.Transaction, m *exchange.Message) {
	p.last = *m
	if d := m.Device; d != nil && d.Name() != "" {
		p.names[d.Unique.String()] = d.Name()
		if d.Polling >= 0 {
			p.names[frame.Polling(uint8(d.Polling)).String()] = d.Name()
		}
	}
}

// tell is told of those of the poll, behind heard.
func (p *polling) tell(r *master.Reading) { p.show.reading(r, &p.last, p.callIt(r.Name)) }

// callIt is how a person calls what the poll calls name: a tag or an address.
func (p *polling) callIt(name string) string {
	if target, err := parseTarget(name); err == nil {
		return p.nameOf(target)
	}
	return name
}

func (p *polling) nameOf(t master.Target) string {
	if t.Tag != "" {
		return t.Tag
	}
	return cmp.Or(p.names[t.Address.String()], targetName(t))
}

func (p *polling) say(format string, args ...any) {
	p.saying.Lock()
	defer p.saying.Unlock()
	p.show.say(fmt.Sprintf(format, args...))
}

// tellLate counts the turns that were taken too late, and says so of the first.
func (p *polling) tellLate(by time.Duration) {
	if p.late.Turns == 0 {
		p.say("turn taken late by %d ms: another master may have taken it meanwhile; more are only counted", by.Round(time.Millisecond).Milliseconds())
	}
	p.late.Add(by)
}

// counted are the statistics; nil before the poll has begun.
func (p *polling) counted() *view.Polled {
	if !p.begun {
		return nil
	}
	tallies := p.poll.Tallies()
	for i := range tallies {
		tallies[i].Name = p.callIt(tallies[i].Name)
	}
	now := p.vigil.line.Now()
	return &view.Polled{Took: (now - p.began).Duration(), Now: now, Tallies: tallies, Late: p.late, Book: p.book}
}

// verdict is what it means for the exit code.
func (p *polling) verdict() error {
	if !p.begun {
		return nil
	}
	tallies := p.poll.Tallies()
	if len(tallies) == 0 {
		return nil
	}
	if all := &tallies[len(tallies)-1]; all.Answered+all.Busy == 0 && all.Silent+all.Damaged > 0 {
		return errNobody
	}
	return nil
}

// title names the line, and says so where it is simulated.
func (p *polling) title() string {
	if p.vigil.host.assembly != nil {
		return p.vigil.host.name + ", simulated"
	}
	return p.vigil.host.name
}

// view is how the readings are shown.
func (p *polling) view(stdin io.Reader, stdout, stderr io.Writer) pollView {
	if !p.json && !p.csv && !p.fast && isTerminal(stdout) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb" {
		return newPollTable(p.title(), p.book, p.stop, stdin, stdout, stderr)
	}
	return newPollLines(p.pollOptions, p.stop, stdout, stderr)
}
