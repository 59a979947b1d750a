package main

import (
	"bufio"
	"io"
	"testing"

	"looptone/frame/exchange"
	"looptone/sim"
	"looptone/sim/master"
)

// Nobody asks the devices of a fast line, and they work all the same.
func TestFastLineMovesItsDevices(t *testing.T) {
	a, _, err := assemble("", nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := runTo(t.Context(), a, nil, 60*sim.Second, bufio.NewWriter(io.Discard)); err != nil {
		t.Fatal(err)
	}
	for _, d := range a.Devices {
		if at := d.Transmitter().At(); at != 60*sim.Second {
			t.Errorf("%s is at %v, want one minute", d.Config().Tag, at.Duration())
		}
	}
}

// A witness that shows nothing counts what is said: here what a scan of the
// demonstration line says, sixteen addresses, six of which are asked further.
func TestWitnessOnlyCounts(t *testing.T) {
	a, _, err := assemble("", nil)
	if err != nil {
		t.Fatal(err)
	}
	w := &witness{counts: &exchange.Statistics{}}
	a.Line.Join(w)
	scan := master.Scan{To: 15, Found: func(master.Found) {}}
	workLine(a.Line, master.New(master.Config{Primary: true}, scan.Run))
	if w.counts.Requests < 16+6 || w.counts.Answered < 2*6 || w.counts.Primary != w.counts.Requests {
		t.Errorf("counted %+v", w.counts.Counts)
	}
}
