package main

import (
	"errors"
	"fmt"
	"io"

	"looptone/frame"
	"looptone/serialio/capture"
	"looptone/sim"
	"looptone/sim/replay"
)

// A rawReplay is captures on their way out.
type rawReplay struct {
	*replayRawOptions
	in     inputs
	source *replay.Source
	out    rawSink
	pieces []replay.Piece
	wrong  int        // characters that were recorded with a wrong parity or stop bit
	read   [256]int64 // characters of each stream so far, of this input
	before uint8      // the stream of the record before
	apart  bool       // nobody knows how long what comes next is behind what came before
}

func (r *rawReplay) run() error {
	for _, name := range r.files {
		if err := r.file(name); err != nil {
			return err
		}
	}
	return r.out.flush()
}

func (r *rawReplay) file(name string) error {
	in, err := r.in.openFile(name)
	if err != nil {
		return err
	}
	defer in.Close()
	damage := damageReport{to: in.told, name: in.name}
	var record capture.Record
	r.apart, r.read = true, [256]int64{}
	for {
		if err := in.Next(&record); err == io.EOF {
			in.Close() // and with it the progress, so that what is told now stays
			damage.to = r.in.stderr
			damage.end()
			return r.send(r.source.Flush(r.pieces[:0]))
		} else if err != nil {
			return err
		}
		damage.add(&record)
		if err := r.take(&record); err != nil {
			return err
		}
	}
}

// take sends what a record has on the stream.
func (r *rawReplay) take(record *capture.Record) error {
	if record.Damage != nil || record.Resumed {
		r.apart = true
	}
	switch {
	case r.stream < 0 && record.Streams > 1 && r.wav.file == "":
		return usagef("the capture has %d streams: choose one with --stream", record.Streams)
	case r.stream >= 0 && int(record.Stream) != r.stream || len(record.Chars) == 0:
		return nil
	}
	start, timed := record.Start.Since()
	end, _ := record.End.Since()
	if !timed && record.Stream != r.before {
		r.apart = true // messages of two streams have nothing to do with each other
	}
	r.before = record.Stream
	c := replay.Characters{Start: sim.Ticks(start), End: sim.Ticks(end), Timed: timed, Apart: r.apart, Chars: record.Chars}
	c.Marks = r.marks(record)
	r.apart = false
	r.read[record.Stream] += int64(len(record.Chars))
	return r.send(r.source.Take(r.pieces[:0], &c))
}

// marks are those of a record, counted in its characters.
func (r *rawReplay) marks(record *capture.Record) (marks []frame.MarkAt) {
	if len(record.Marks) == 0 {
		return nil
	}
	for _, m := range record.Marks {
		if m.Mark&(frame.Parity|frame.Framing) != 0 {
			r.wrong++
		}
		marks = append(marks, frame.MarkAt{Pos: m.Pos - r.read[record.Stream], Mark: m.Mark})
	}
	return marks
}

func (r *rawReplay) send(pieces []replay.Piece) error {
	r.pieces = pieces
	for _, p := range pieces {
		if err := r.out.push(p); err != nil {
			return err
		}
	}
	return nil
}

// report says what was sent.
func (r *rawReplay) report(stderr io.Writer) error {
	if r.out.sent() == 0 {
		return errors.New("no characters in the capture: there is nothing to replay")
	}
	text := count(r.out.sent(), "character", "characters") + " sent"
	switch {
	case r.wrong > 0 && r.out.marks():
		text += fmt.Sprintf(", of which %s recorded with a wrong parity or stop bit, and sent so", count(r.wrong, "was", "were"))
	case r.wrong > 0:
		text += fmt.Sprintf(", of which %s recorded with a wrong parity or stop bit, and sent with the right one", count(r.wrong, "was", "were"))
	}
	fmt.Fprintln(stderr, text)
	return nil
}
