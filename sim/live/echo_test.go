package live_test

import (
	"bytes"
	"testing"
	"testing/synctest"
	"time"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/live"
)

// ear notes which characters are in what it hears.
type ear struct{ heard []byte }

func (e *ear) Step(_ sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for i := range heard {
		if h := &heard[i]; h.Carrier == 0 {
			e.heard = append(e.heard, bytes.Repeat([]byte{0xff}, h.Event.Preambles)...)
			e.heard = append(e.heard, h.Event.Raw...)
		}
	}
	return nil, sim.Never
}

// TestEchoesAreNotOnTheLine: what a wire brings back of what it was given, and a carrier,
// are nothing that somebody says; what is spoilt is told. Everything else is heard.
func TestEchoesAreNotOnTheLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		here, there := newPipe()
		line := sim.NewLine(1)
		listener := &ear{}
		line.Join(listener)
		runner := live.NewRunner(line)
		spoilt := 0
		runner.OnSpoilt(func() { spoilt++ })
		runner.Attach("host", here, nil)
		said := []byte{0xff, 0xff, 0xff, 0x02, 0x80, 0x00, 0x00, 0x82}
		go func() {
			for _, a := range []frame.Arrival{
				{Chars: []byte("whole"), Echo: frame.EchoWhole},
				{Chars: []byte("again"), Echo: frame.EchoWhole},
				{Carrier: +1},
				{Chars: []byte("spoilt"), Echo: frame.EchoDamaged},
				{Carrier: -1},
				{Chars: said},
			} {
				time.Sleep(time.Second)
				a.At = time.Now()
				there.out <- a
			}
		}()
		runner.Run(t.Context(), func() bool { return line.Now() > 10*sim.Second })
		if !bytes.Equal(listener.heard, said) || spoilt != 1 {
			t.Errorf("heard % x, told of %d that were spoilt; want % x, 1", listener.heard, spoilt, said)
		}
	})
}
