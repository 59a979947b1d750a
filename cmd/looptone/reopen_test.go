package main

import (
	"context"
	"fmt"
	"io/fs"
	"slices"
	"testing"
	"testing/synctest"

	"looptone/serialio"
)

// A port that is away is what is waited for. That it is back and cannot be used is told,
// once for each reason.
func TestReopenTellsWhyItCannot(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, stop := context.WithCancel(t.Context())
		defer stop()
		attempts := []error{fs.ErrNotExist, fs.ErrPermission, serialio.ErrBusy, serialio.ErrBusy, fs.ErrNotExist, serialio.ErrBusy}
		open := func(context.Context) (*serialio.Port, error) {
			if len(attempts) == 0 {
				stop()
				return nil, context.Canceled
			}
			err := attempts[0]
			attempts = attempts[1:]
			return nil, &serialio.OpError{Op: "open port", Port: "/dev/ttyUSB0", Err: err}
		}
		var said []string
		if wire := reopen(ctx, open, func(text string) { said = append(said, text) }); wire != nil {
			t.Errorf("got %v", wire)
		}
		var want []string
		for _, why := range []string{"permission denied", "busy: another program has it open"} {
			want = append(want, fmt.Sprintf("open port /dev/ttyUSB0: %s; it is tried again", why))
		}
		if !slices.Equal(said, want) {
			t.Errorf("said\n%q, want\n%q", said, want)
		}
	})
}
