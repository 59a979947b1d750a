package main

import (
	"bytes"
	"errors"
	"testing"

	"looptone/frame"
	"looptone/sim/device"
)

// A full is a store that keeps nothing.
type full struct{}

func (full) Save(frame.Address, device.Memory) device.Saving { return full{} }
func (full) Done() (bool, error)                             { return true, errors.New("disk full") }

// That something cannot be kept is said when it happens, and once.
func TestWhatCannotBeKeptIsSaidOnce(t *testing.T) {
	var said bytes.Buffer
	store := loud{full{}, &mishaps{stderr: &said}}
	for _, tag := range []string{"FT-1", "FT-2"} {
		if done, err := store.Save(frame.Broadcast, device.Memory{KnownAs: tag}).Done(); !done || err == nil {
			t.Errorf("got %v, %v, want the failure itself", done, err)
		}
	}
	if got, want := said.String(), "what FT-1 must remember cannot be kept: disk full\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
