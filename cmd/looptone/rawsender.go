package main

import (
	"context"
	"io"
	"time"

	"looptone/serialio"
	"looptone/sim"
	"looptone/sim/replay"
)

// A rawSender sends pieces with the pauses between them. Those with less than hold
// between them are one message, for which the carrier stays on.
type rawSender struct {
	ctx   context.Context
	reach func() (*serialio.Port, error) // opens the port, for the first piece
	pace  serialio.Settings

	port   *serialio.Port
	next   replay.Piece // waits until it is known what comes behind it; no characters: there is none
	within bool         // it goes on with a message
	end    time.Time    // of the last character
	chars  int          // sent
}

// push takes the next piece.
func (s *rawSender) push(p replay.Piece) error {
	within := s.within
	s.within = len(s.next.Chars) > 0 && p.Pause < sim.Hold
	now := s.next
	s.next = p
	return s.send(now, within, s.within)
}

// flush sends what waits.
func (s *rawSender) flush() error { return s.push(replay.Piece{Pause: sim.Hold}) }

func (s *rawSender) send(p replay.Piece, within, goesOn bool) error {
	if len(p.Chars) == 0 {
		return nil
	}
	if err := s.open(); err != nil {
		return err
	}
	var lead time.Duration
	if !within {
		lead = sim.CarrierLead.Duration()
	}
	tail := sim.CarrierTail.Duration()
	if goesOn {
		tail += sim.Hold.Duration() // until what follows
	}
	at := s.end.Add(p.Pause.Duration())
	if now := time.Now(); now.Sub(at) > sim.Hold.Duration() { // at the beginning, or what is behind does not hurry
		at = now.Add(lead)
	}
	if err := s.port.Send(s.ctx, at, lead, tail, p.Chars); err != nil {
		if s.ctx.Err() != nil {
			return errInterrupted
		}
		return err
	}
	s.end = at.Add(s.pace.Characters(len(p.Chars)))
	s.chars += len(p.Chars)
	return nil
}

// open opens the port, and keeps what comes in from piling up: nobody listens.
func (s *rawSender) open() (err error) {
	if s.port != nil {
		return nil
	}
	if s.port, err = s.reach(); err != nil {
		return err
	}
	go func() {
		for range s.port.Arrivals() {
		}
	}()
	return nil
}

func (s *rawSender) close(io.Writer) error {
	if s.port != nil {
		s.port.Close()
	}
	return nil
}

func (s *rawSender) sent() int { return s.chars }

// marks is false: a port sends every character with the right parity.
func (s *rawSender) marks() bool { return false }
