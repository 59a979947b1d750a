package main

import (
	"context"
	"fmt"
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
// told that it is open.
func reopen(ctx context.Context, open func(context.Context) (*serialio.Port, error), say func(string)) *serialio.Port {
	gone := time.Now()
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
	}
}

// waitingFor says that a wire has ended, and that it is waited for.
func waitingFor(wire *serialio.Port) string {
	return fmt.Sprintf("%v; it is opened again as soon as it is there", ended(wire))
}
