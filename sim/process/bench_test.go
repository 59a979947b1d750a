package process_test

import (
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/process"
)

// plants are models in motion, of every kind.
func plants() map[string]process.Model {
	tank := func(shape process.Shape, inflow float64) process.Tank {
		return process.Tank{Shape: shape, VolumeM3: 20, DensityKgM3: 1000, LevelPercent: 50, InflowM3H: inflow, OutflowM3H: 24}
	}
	return map[string]process.Model{
		"sphere":         tank(process.Sphere, 12),
		"lying cylinder": tank(process.LyingCylinder, 12),
		"nearly empty":   tank(process.LyingCylinder, 0.1),
		"orifice":        process.Orifice{PipeMM: 100, BoreMM: 50, Discharge: 0.6, Expansibility: 1, DensityKgM3: 1000, FlowKgH: 20000, SwingKgH: 1000, Period: time.Minute, LagS: 5},
		"thermal":        process.Thermal{Ambient: 15, Rise: 60, TimeConstant: time.Minute},
		"playback":       process.Playback{Points: []process.Sample{{At: 0, Value: 1}, {At: time.Second, Value: 2}, {At: time.Minute, Value: 0}}, Repeat: true},
	}
}

func TestPlantsDoNotAllocate(t *testing.T) {
	for name, model := range plants() {
		r, _ := begin(model, 100*time.Millisecond)
		if got := testing.AllocsPerRun(100, func() { r.forth(10, 0.9) }); got != 0 {
			t.Errorf("%s: got %v allocations in 10 steps, want 0", name, got)
		}
	}
}

func BenchmarkPlants(b *testing.B) {
	for name, model := range plants() {
		b.Run(name, func(b *testing.B) {
			course := model.Course()
			course.Step(0, 0, 1)
			b.ReportAllocs()
			var now sim.Tick
			for b.Loop() {
				now += sim.Second / 10
				course.Step(now, 0.1, 0.9)
			}
		})
	}
}
