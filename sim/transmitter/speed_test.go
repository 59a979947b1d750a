package transmitter_test

import (
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// complete is a configuration with every stage and with noise, and everything
// that a stage can do switched on.
func complete() transmitter.Config {
	cfg := pressure(process.Sine{Low: 5, High: 95, Period: time.Minute})
	cfg.Process.Noise = 0.5
	cfg.Sensor.LowSide = 1
	cfg.Sensor.Temperature = transmitter.Temperature{ZeroPerK: 0.01, SpanPerK: 0.02}
	cfg.Sensor.AtC = 45
	cfg.Characterisation = transmitter.Temperature{ZeroPerK: 0.01, SpanPerK: 0.015}
	cfg.DampingS = 2
	cfg.Trim = transmitter.Trim{Gain: 1.001, Offset: -0.2}
	cfg.Transfer = transmitter.Transfer{Power: 0.5, CutOffPercent: 2}
	cfg.Table = transmitter.Strapping(process.Sphere, 16)
	cfg.UserUnit = &transmitter.Scale{Lower: -10, Upper: 110, Unit: cubicPerHour}
	cfg.Totaliser = &transmitter.Totaliser{Unit: cubicMetre}
	cfg.Controller = &transmitter.Controller{Mode: transmitter.Auto, SetPoint: 50, Manual: 40, Gain: 1.2, IntegralS: 20, DerivativeS: 3}
	cfg.Source = transmitter.ManipulatedVariable
	cfg.Current.Converter = transmitter.Converter{Gain: 1.01, Offset: -0.03}
	return cfg
}

func TestGridPointsDoNotAllocate(t *testing.T) {
	cfg := complete()
	tr := start(t, cfg)
	tr.Follow(tr)
	var now sim.Tick
	if got := testing.AllocsPerRun(100, func() {
		now += 10 * sim.Second
		tr.To(now)
	}); got != 0 {
		t.Errorf("got %v allocations in 100 grid points, want 0", got)
	}
}

func BenchmarkGridPoint(b *testing.B) {
	linear := pressure(process.Constant(50))
	for _, bench := range []struct {
		name string
		cfg  transmitter.Config
	}{{"complete", complete()}, {"plain", linear}} {
		b.Run(bench.name, func(b *testing.B) {
			tr, err := transmitter.New(bench.cfg)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			var now sim.Tick
			for b.Loop() {
				now += sim.Second / 10
				tr.To(now)
			}
		})
	}
}
