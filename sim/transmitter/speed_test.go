package transmitter_test

import (
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// busy has every stage, noise and a root.
func busy(tb testing.TB) *transmitter.Transmitter {
	cfg := pressure(process.Sine{Low: 5, High: 95, Period: time.Minute})
	cfg.Process.Noise = 0.5
	cfg.DampingS = 2
	cfg.Transfer = transmitter.Transfer{Power: 0.5, CutOffPercent: 2}
	cfg.UserUnit = &transmitter.Scale{Lower: 0, Upper: 120, Unit: cubic}
	tr, err := transmitter.New(cfg)
	if err != nil {
		tb.Fatal(err)
	}
	return tr
}

func TestGridPointsDoNotAllocate(t *testing.T) {
	tr := busy(t)
	var now sim.Tick
	if got := testing.AllocsPerRun(100, func() {
		now += 10 * sim.Second
		tr.To(now)
	}); got != 0 {
		t.Errorf("got %v allocations in 100 grid points, want 0", got)
	}
}

func BenchmarkGridPoint(b *testing.B) {
	tr := busy(b)
	var now sim.Tick
	b.ReportAllocs()
	for b.Loop() {
		now += sim.Second / 10
		tr.To(now)
	}
}
