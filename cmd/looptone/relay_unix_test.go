//go:build unix

package main

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"
	"time"

	"looptone/serialio"
)

// fill sends as much as a wire takes that nobody reads.
func fill(t *testing.T, wire *serialio.Port) {
	t.Helper()
	for full := false; !full; {
		ctx, end := context.WithTimeout(t.Context(), time.Second)
		full = wire.Send(ctx, time.Time{}, 0, 0, []byte{0}) != nil
		end()
	}
}

// What a host would get minutes late it does not get at all.
func TestTimingRelayGivesUp(t *testing.T) {
	link := filepath.Join(t.TempDir(), "tap")
	wire, err := serialio.NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	defer wire.Close()
	told := make(chan string, 10)
	r := newRelay(func(text string) { told <- text })
	r.connect(wire)
	go r.run(t.Context())
	fill(t, wire)
	r.pass([]byte{3, 4})
	select {
	case text := <-told:
		if want := link + " does not take what is passed on: it is dropped"; text != want {
			t.Errorf("said was %q, want %q", text, want)
		}
	case <-time.After(10 * time.Second):
		t.Fatal("nobody gives up")
	}
	host, err := serialio.Open(link, serialio.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	defer host.Close()
	r.pass([]byte{1, 2})
	var got []byte
	for a := range host.Arrivals() {
		if got = append(got, a.Chars...); bytes.HasSuffix(got, []byte{1, 2}) {
			break
		}
	}
	if len(got) > 2 {
		t.Errorf("the host gets %d characters, want 2", len(got))
	}
}
