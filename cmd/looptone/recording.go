package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"sync"
	"syscall"

	"looptone/serialio"
	"looptone/serialio/capture"
)

// A recording is one run of record.
type recording struct {
	*recordOptions
	aside *spool // to stderr: who does not read it must not hold up a port
	first capture.File
	files func() (capture.File, error)

	recorder *capture.Recorder
	shown    *liveDecoding // nil where nobody wants to see it
	taps     []*tap
	wires    []*serialio.Port // one a tap; nil for one that is still to come
	relays   []*relay
	streams  []capture.Stream
	guests   *serialio.Listener // nil where nobody is waited for
}

func (o *recordOptions) run(ctx context.Context, stdout, stderr io.Writer) (err error) {
	r := &recording{recordOptions: o, aside: newSpool(stderr, func() {})}
	defer r.aside.Close()
	if err := r.openFile(ctx); err != nil {
		return err
	}
	if err := r.openWires(ctx, stderr); err != nil {
		return errors.Join(err, r.first.Discard())
	}
	return r.work(ctx, stdout)
}

func (r *recording) say(text string) { fmt.Fprintln(r.aside, text) }

// openFile opens the first file: before a port is opened, which may key a modem.
func (r *recording) openFile(ctx context.Context) (err error) {
	next := func() (capture.File, error) { return capture.Append(r.file) }
	if r.rotateSize.bytes > 0 || r.rotateEvery.span > 0 {
		next = (&capture.Numbered{Name: r.file}).Open
	}
	if r.first, err = openedWithin(ctx, next); err != nil {
		return err
	}
	opened := false
	r.files = func() (capture.File, error) {
		if !opened {
			opened = true
			return r.first, nil
		}
		return next()
	}
	return nil
}

// openedWithin opens a file unless ctx ends first: a named pipe waits for its reader,
// and that cannot be called back.
func openedWithin(ctx context.Context, open func() (capture.File, error)) (capture.File, error) {
	var file capture.File
	var err error
	done := make(chan struct{})
	go func() {
		defer close(done)
		file, err = open()
	}()
	select {
	case <-done:
		return file, err
	case <-ctx.Done():
		return nil, errInterrupted
	}
}

// openWires opens one end or both.
func (r *recording) openWires(ctx context.Context, stderr io.Writer) error {
	name, _ := r.real()
	if !r.bridges() && (r.rfc2217 != "" || serialio.MayKey(r.port)) {
		fmt.Fprintln(stderr, listeningCaution)
	}
	wire, err := r.wireFlags.open(ctx, stderr)
	if err != nil {
		return err
	}
	r.join(name, wire, &tap{next: again(r.wireFlags.open, r.say)}, &r.wireFlags)
	if !r.bridges() {
		return nil
	}
	if err := r.openOther(ctx, stderr); err != nil {
		return errors.Join(err, wire.Close())
	}
	for i, t := range r.taps {
		t.inbound = newRelay(r.say)
		r.taps[1-i].onward = t.inbound
		r.relays = append(r.relays, t.inbound)
		r.streams[i].Name = "from " + r.streams[i].Name
	}
	return nil
}

// join adds an end.
func (r *recording) join(name string, wire *serialio.Port, t *tap, flags *wireFlags) {
	s := capture.Stream{Name: name, Times: capture.EndTimes, Late: portLateness, Via: capture.Pipe}
	if wire != nil {
		s = flags.streamOf(name, wire)
	}
	t.stream, t.say = uint8(len(r.taps)), r.say
	r.taps, r.wires, r.streams = append(r.taps, t), append(r.wires, wire), append(r.streams, s)
}

// openOther opens the other end.
func (r *recording) openOther(ctx context.Context, stderr io.Writer) (err error) {
	other := wireFlags{baud: r.baud, parity: r.parity, modemFlags: r.modemFlags}
	switch {
	case r.listen != "":
		if r.guests, err = serialio.Listen(r.listen); err != nil {
			return err
		}
		r.say("listening on " + r.guests.Addr())
		r.join("client", nil, &tap{next: r.nextGuest, guests: true}, &other)
		return nil
	case r.pty != "":
		wire, err := serialio.NewPTY(r.pty)
		if err != nil {
			return err
		}
		other.port = r.pty
		r.say("pty at " + r.pty)
		r.join(r.pty, wire, &tap{next: func(context.Context) *serialio.Port { return nil }}, &other)
		return nil
	case isAddress(r.between):
		other.tcp = r.between
	default:
		other.port = r.between
	}
	wire, err := other.open(ctx, stderr)
	if err != nil {
		return err
	}
	r.join(r.between, wire, &tap{next: again(other.open, r.say)}, &other)
	return nil
}

// nextGuest waits for a client.
func (r *recording) nextGuest(ctx context.Context) *serialio.Port {
	defer context.AfterFunc(ctx, func() { r.guests.Close() })()
	wire, err := r.guests.Accept()
	if err != nil {
		if ctx.Err() == nil {
			r.say(err.Error())
		}
		return nil
	}
	r.say(wire.Name() + " has connected")
	return wire
}

// work records until ctx ends or there is enough.
func (r *recording) work(ctx context.Context, stdout io.Writer) (err error) {
	r.recorder, err = capture.Recording{
		Streams: r.streams, Open: r.files, Buffer: int(r.buffer.bytes),
		RotateSize: r.rotateSize.bytes, RotateEvery: r.rotateEvery.span, MaxSize: r.maxSize.bytes,
		Trouble: r.trouble,
	}.Start()
	if err != nil {
		for _, wire := range r.wires {
			if wire != nil {
				wire.Close()
			}
		}
		return err
	}
	to := listeners{r.recorder}
	if r.show {
		to = append(to, r.startShow(stdout))
	}
	for i, s := range r.streams {
		if wire := r.wires[i]; wire != nil {
			r.say("recording " + s.Name + "; " + parityTold(wire.SeesParity()))
		}
	}
	r.listenTo(ctx, to)
	return r.end()
}

func (r *recording) startShow(stdout io.Writer) *liveDecoding {
	signal.Ignore(syscall.SIGPIPE)
	r.shown = newLiveDecoding(stdout, func() { r.say("what is heard cannot be shown any more; it is recorded") })
	d := &decoding{}
	d.filter.command = -1
	r.shown.start(r.streams, d, &sentencePrinter{out: r.shown.out})
	return r.shown
}

// listenTo has all taps listen until ctx ends or there is enough.
func (r *recording) listenTo(ctx context.Context, to listener) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var work sync.WaitGroup
	for i, t := range r.taps {
		t.to = to
		work.Go(func() { t.run(ctx, r.wires[i]) })
	}
	for _, relay := range r.relays {
		work.Go(func() { relay.run(ctx) })
	}
	select {
	case <-ctx.Done():
	case <-r.recorder.Full():
		r.say("it has reached --max-size " + r.maxSize.String())
	}
	stop()
	work.Wait()
	if r.guests != nil {
		r.guests.Close()
	}
}

// end completes the recording, and tells what is missing in it.
func (r *recording) end() error {
	if r.shown != nil {
		if err := r.shown.end(); err != nil {
			r.say("what was shown: " + err.Error())
		}
	}
	for i, t := range r.taps {
		if t.dropped > 0 {
			r.say(fmt.Sprintf("%s: %s without a carrier and dropped", r.streams[i].Name, count(int(t.dropped), "character came", "characters came")))
		}
	}
	err := r.recorder.Close()
	if lost := r.recorder.Lost(); lost > 0 {
		r.say(count(int(lost), "character was", "characters were") + " lost: the disk was too slow, or full")
	}
	if err != nil {
		return fmt.Errorf("the recording is not complete: %w", err)
	}
	return nil
}

// trouble tells that the disk does not take what is recorded, and when it does.
func (r *recording) trouble(err error) {
	if err != nil {
		r.say(fmt.Sprintf("%v; what is heard meanwhile is lost and counted", err))
		return
	}
	r.say(r.file + " is written again")
}
