package transmitter_test

import (
	"math"
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// What a stage without memory makes of its input is what stands behind it, and asking
// changes nothing.
func TestThroughIsWhatStandsBehindAStage(t *testing.T) {
	cfg := pressure(process.Sine{Low: -80, High: 280, Period: 10 * time.Second})
	cfg.Transfer = transmitter.Transfer{Power: 0.5, CutOffPercent: 3}
	cfg.Table = transmitter.Strapping(process.Sphere, 16)
	cfg.Sensor.Temperature, cfg.Sensor.AtC = transmitter.Temperature{ZeroPerK: 0.1, SpanPerK: 0.05}, 40
	cfg.Characterisation = transmitter.Temperature{ZeroPerK: 0.1, SpanPerK: 0.04}
	cfg.DampingS = 0.3
	cfg.UserUnit = &transmitter.Scale{Lower: 0, Upper: 120, Unit: cubicPerHour}
	cfg.Controller = &transmitter.Controller{Mode: transmitter.Auto, SetPoint: 50, Gain: 1, IntegralS: 5}
	asked, alone := start(t, cfg), start(t, cfg)
	for now := sim.Tick(0); now < sim.Ticks(20*time.Second); now += sim.Ticks(100 * time.Millisecond) {
		asked.To(now)
		alone.To(now)
		outputs, inputs, status := asked.Outputs(), asked.Inputs(), asked.Status()
		for i, o := range outputs[1:] {
			in := outputs[inputs[i+1]].Value
			got, ok := asked.Through(o.Name, in)
			if has := o.Name == "damping" || o.Name == "controller"; ok == has {
				t.Fatalf("%s: got %v, want %v: what remembers more than its input has no curve", o.Name, ok, !has)
			}
			if ok && got != o.Value {
				t.Fatalf("%s at %v: got %v of %v, want %v", o.Name, now, got, in, o.Value)
			}
			for _, other := range []float64{-1e3, 0, 1e3, math.NaN()} {
				asked.Through(o.Name, other)
			}
		}
		if asked.Status() != status {
			t.Fatalf("asking has changed the status from %+v to %+v", status, asked.Status())
		}
		for i, o := range alone.Outputs() {
			if o != outputs[i] {
				t.Fatalf("asking has changed %s: got %v, want %v", o.Name, outputs[i].Value, o.Value)
			}
		}
	}
}

// A parked output is told as it would follow.
func TestThroughAParkedOutput(t *testing.T) {
	tr := start(t, pressure(process.Constant(75)))
	setMode(t, tr, 0, transmitter.Fixed)
	for in, want := range map[float64]float64{50: 12, 100: 20, 200: 20.5, -50: 3.8} {
		got, _ := tr.Through("output", in)
		near(t, "output", got, want, 1e-12)
	}
	near(t, "loop current", tr.LoopCurrentMA(), 4, 0)
	if _, ok := tr.Through("process", 1); ok {
		t.Error("the process has no stage, and gave something")
	}
}

// Source: common practice (a first-order lag has gone 63.2 % of the way after one time
// constant).
func TestStepResponse(t *testing.T) {
	for _, seconds := range []float64{0.25, 1, 2, 3600} {
		cfg := pressure(process.Constant(0))
		cfg.DampingS = seconds
		list := start(t, cfg).StepResponse(5*seconds, 100)
		if n := len(list); n < 10 || n > 102 {
			t.Errorf("%v s: got %d points, want about 100 at most", seconds, n)
		}
		for _, p := range list {
			near(t, "step response", p.Y, 100*-math.Expm1(-p.X/seconds), 1e-9)
		}
		if last := list[len(list)-1].X; last < 4.9*seconds {
			t.Errorf("%v s: got points up to %v s, want five time constants", seconds, last)
		}
	}
}
