package main

import (
	"context"
	"io"

	"looptone/frame"
	"looptone/serialio/fsk"
	"looptone/sim"
	"looptone/sim/replay"
)

// A rawWave writes pieces as a waveform, with the pauses between them. The file is made
// for the first piece, so that a capture without any leaves none.
type rawWave struct {
	ctx   context.Context
	flags *waveFlags
	tones *tones

	out     *toneWriter
	carrier *fsk.Carrier // that the next piece may belong to
	chars   int
}

// push takes the next piece: it goes on with the carrier when it follows within hold, or
// before that carrier could go off and another one on.
func (w *rawWave) push(p replay.Piece) error {
	if w.ctx.Err() != nil {
		return errInterrupted
	}
	pause := p.Pause.Seconds()
	switch c := w.carrier; {
	case c == nil:
		if err := w.begin(); err != nil {
			return err
		}
		w.carrier = w.out.carrier(silence)
	case p.Pause < sim.Hold || pause <= c.Tail+c.Lead:
		if pause > 0 {
			c.Pauses = append(c.Pauses, fsk.Pause{Before: len(c.Chars), For: pause})
		}
	default:
		if err := w.out.send(c); err != nil {
			return err
		}
		w.carrier = w.out.carrier(c.Start(len(c.Chars)) + pause - c.Lead)
	}
	w.add(p)
	return nil
}

func (w *rawWave) begin() (err error) {
	w.out, err = newToneWriter(w.flags, w.tones)
	return err
}

func (w *rawWave) add(p replay.Piece) {
	c := w.carrier
	for _, m := range p.Wrong {
		c.Marks = append(c.Marks, frame.MarkAt{Pos: m.Pos + int64(len(c.Chars)), Mark: m.Mark})
	}
	c.Chars = append(c.Chars, p.Chars...)
	w.chars += len(p.Chars)
}

func (w *rawWave) flush() error {
	if w.carrier == nil {
		return nil
	}
	return w.out.send(w.carrier)
}

func (w *rawWave) close(stderr io.Writer) error {
	if w.out == nil {
		return nil
	}
	return w.out.close(stderr)
}

func (w *rawWave) sent() int { return w.chars }

func (w *rawWave) marks() bool { return true }
