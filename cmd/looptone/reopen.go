package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"looptone/serialio"
)

// How often a wire that has ended is opened again, and how long one attempt may
// take.
const (
	reopenEvery  = time.Second
	reopenWithin = 5 * time.Second
)

// reopen tries to open a wire until it can be opened; nil when ctx ends first. say is
// told that it is open, and why it cannot be opened although it is there.
func reopen(ctx context.Context, open func(context.Context) (*serialio.Port, error), say func(string)) *serialio.Port {
	gone, said := time.Now(), ""
	tick := time.NewTicker(reopenEvery)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
		attempt, end := context.WithTimeout(ctx, reopenWithin)
		wire, err := open(attempt)
		end()
		if err == nil {
			say(fmt.Sprintf("%s is open again after %.0f s", wire.Name(), time.Since(gone).Seconds()))
			return wire
		}
		if text := err.Error(); ctx.Err() == nil && !errors.Is(err, fs.ErrNotExist) && text != said {
			said = text
			say(text + "; it is tried again")
		}
	}
}

// waitingFor says that a wire has ended, and that it is waited for.
func waitingFor(wire *serialio.Port) string {
	return fmt.Sprintf("%v; it is opened again as soon as it is there", ended(wire))
}
