package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"looptone/frame"
	"looptone/serialio/capture"
)

// A liveDecoding shows what ports hear, as it comes.
type liveDecoding struct {
	*decoding
	streams []capture.Stream
	live    *capture.Live
	hears   listening
	out     *background
	aside   *spool // under out: who does not read it must not hold up the ports
	news    chan news
	quiet   chan struct{} // is closed when nothing comes any more
	done    chan struct{}
	record  capture.Record
}

// news is something that a port has heard, or that it is heard again.
type news struct {
	stream  uint8
	arrival frame.Arrival
	resumed bool
}

// How much news may wait for who shows it, and how often it is looked whether the line
// is silent.
const (
	mostNews   = 4096
	tickLength = 50 * time.Millisecond
)

// newLiveDecoding is one that writes to stdout; failed is called when that cannot be
// written.
func newLiveDecoding(stdout io.Writer, failed func()) *liveDecoding {
	aside := newSpool(stdout, failed)
	return &liveDecoding{aside: aside, out: newBackground(aside),
		news: make(chan news, mostNews), quiet: make(chan struct{}), done: make(chan struct{})}
}

// start shows by d and p what streams hear from now on.
func (l *liveDecoding) start(streams []capture.Stream, d *decoding, p printer) {
	l.decoding, l.streams = d, streams
	d.printer, d.all = p, !d.filter.any()
	l.live = capture.NewLive(time.Now(), streams)
	l.hears = listening{to: d}
	go l.run()
}

func (l *liveDecoding) Heard(stream uint8, a *frame.Arrival) {
	l.take(news{stream: stream, arrival: *a})
}

func (l *liveDecoding) Gone(stream uint8, at time.Time, _ string) {
	l.take(news{stream: stream, arrival: frame.Arrival{At: at, Carrier: -1}})
}

func (l *liveDecoding) Resumed(stream uint8, at time.Time) {
	l.take(news{stream: stream, arrival: frame.Arrival{At: at}, resumed: true})
}

func (l *liveDecoding) take(n news) {
	select {
	case l.news <- n:
	case <-l.done:
	}
}

// end shows what is left, and what comes behind all messages. Nothing may come any more.
func (l *liveDecoding) end() error {
	close(l.quiet)
	<-l.done
	err := l.printer.end()
	if closeErr := l.out.Close(); err == nil {
		err = closeErr
	}
	if closeErr := l.aside.Close(); err == nil {
		err = closeErr
	}
	return err
}

func (l *liveDecoding) run() {
	defer close(l.done)
	tick := time.NewTicker(tickLength)
	defer tick.Stop()
	for {
		select {
		case n := <-l.news:
			l.hear(&n)
		case at := <-tick.C:
			l.listenAt(at)
		case <-l.quiet:
			for len(l.news) > 0 {
				n := <-l.news
				l.hear(&n)
			}
			l.hears.end()
			return
		}
		if len(l.news) == 0 {
			l.out.Flush()
		}
	}
}

func (l *liveDecoding) hear(n *news) {
	if n.resumed {
		l.live.Resumed(n.stream, n.arrival.At, &l.record)
	} else {
		l.live.Heard(n.stream, &n.arrival, &l.record)
	}
	l.hears.take(&l.record)
}

// listenAt ends messages behind which nothing comes, and tells who does not answer.
func (l *liveDecoding) listenAt(at time.Time) {
	if len(l.news) > 0 {
		return
	}
	for i := range l.streams {
		if l.live.Silence(uint8(i), at, &l.record) {
			l.hears.take(&l.record)
		}
	}
	l.hears.tellSilence()
}

// checkTap refuses what does not go with a port.
func (o *decodeOptions) checkTap(cmd *cobra.Command) error {
	if err := o.tapped.check(cmd); err != nil {
		return err
	}
	if _, live := o.tapped.real(); !live {
		return nil
	}
	if len(o.files) > 0 {
		return fmt.Errorf("decode reads files or listens at a port, not both: leave out %s", o.files[0])
	}
	for _, name := range append(fileFlags[:], "convert", "wide", "started") {
		if cmd.Flags().Changed(name) {
			return fmt.Errorf("--%s is for files, not for a port", name)
		}
	}
	return nil
}

// decodePort shows what a port hears until ctx ends. It sends nothing.
func (o *decodeOptions) decodePort(ctx context.Context, stdout, stderr io.Writer) error {
	book, err := readCommands(o.commands)
	if err != nil {
		return err
	}
	file, err := o.create(o.commands...)
	if err != nil {
		return err
	}
	defer file.Close()
	wire, err := o.tapped.open(ctx, stderr)
	if err != nil {
		return err
	}
	aside := newSpool(stderr, func() {})
	defer aside.Close()
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	say := func(text string) { io.WriteString(aside, text+"\n") }
	name, _ := o.tapped.real()
	say("listening at " + name + "; " + parityTold(wire.SeesParity()))
	l := newLiveDecoding(stdout, stop)
	p, _ := o.printer(l.out)
	shown, traffic := o.reported(p)
	d := o.decoding(inputs{ctx: ctx}, book)
	l.start([]capture.Stream{o.tapped.streamOf(name, wire)}, d, shown)
	t := tap{to: l, next: again(o.tapped.open, say), say: say}
	t.run(ctx, wire)
	if err := o.unread(l.end()); err != nil {
		return err
	}
	if d.frames == 0 {
		say("no frame was heard")
		return nil
	}
	if file != nil {
		if err := file.Save(traffic); err != nil {
			return err
		}
	}
	return o.verdict(d, p, aside)
}

// parityTold says whether errors of single characters are seen.
func parityTold(seen bool) string {
	if seen {
		return "wrong parity and stop bits are seen"
	}
	return "wrong parity and stop bits are not seen here"
}
