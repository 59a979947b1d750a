package process_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"looptone/sim/process"
	"looptone/sim/setting"
)

func TestModelsRefuse(t *testing.T) {
	tank := process.Tank{VolumeM3: 1, DensityKgM3: 1000}
	plate := process.Orifice{PipeMM: 100, BoreMM: 50, Discharge: 0.6, Expansibility: 1, DensityKgM3: 1000}
	tests := []struct {
		model process.Model
		want  string
	}{
		{tank, ""},
		{process.Tank{DensityKgM3: 1}, "process.volume_m3: got 0, want more than 0"},
		{process.Tank{VolumeM3: 1}, "process.density_kg_m3: got 0, want more than 0"},
		{with(tank, func(t *process.Tank) { t.Shape = 5 }), "process.shape: got 5, want one of the shapes, 0 to 4"},
		{with(tank, func(t *process.Tank) { t.HeightM = -2 }), "process.height_m: got -2, want 0 or more"},
		{with(tank, func(t *process.Tank) { t.LevelPercent = 101 }), "process.level_percent: got 101, want 0 to 100"},
		{with(tank, func(t *process.Tank) { t.InflowM3H = -1 }), "process.inflow_m3h: got -1, want 0 or more"},
		{with(tank, func(t *process.Tank) { t.OutflowM3H = -1 }), "process.outflow_m3h: got -1, want 0 or more"},
		{with(tank, func(t *process.Tank) { t.AboveKPa = math.NaN() }),
			"process.above_kpa: got NaN, want a number that a 32-bit float holds"},
		{plate, ""},
		{with(plate, func(o *process.Orifice) { o.BoreMM = 76 }),
			"process.bore_mm: got 76, want 10 to 75: 0.1 to 0.75 of process.pipe_mm, 100"},
		{with(plate, func(o *process.Orifice) { o.BoreMM = 9 }),
			"process.bore_mm: got 9, want 10 to 75: 0.1 to 0.75 of process.pipe_mm, 100"},
		{with(plate, func(o *process.Orifice) { o.PipeMM = 0 }), "process.pipe_mm: got 0, want more than 0"},
		{with(plate, func(o *process.Orifice) { o.Discharge = 0 }), "process.discharge: got 0, want 0.1 to 1"},
		{with(plate, func(o *process.Orifice) { o.Expansibility = 1.1 }), "process.expansibility: got 1.1, want 0.1 to 1"},
		{with(plate, func(o *process.Orifice) { o.SwingKgH = 1 }), "process.period_s: got 0, want 0.4 or more: four grid points, which are grid_ms apart"},
		{with(plate, func(o *process.Orifice) { o.LagS = -1 }), "process.lag_s: got -1, want 0 or more"},
		{process.Thermal{}, ""},
		{process.Thermal{TimeConstant: -time.Second}, "process.time_constant_s: got -1, want 0 or more"},
		{process.Playback{}, "process.file: got no points, want one or more"},
		{process.Playback{Points: []process.Sample{{}}}, ""},
		{process.Playback{Points: []process.Sample{{}}, Repeat: true}, "process.repeat: got one point, want two or more to repeat"},
		{process.Playback{Points: []process.Sample{{time.Second, 1}, {time.Second, 2}}},
			"process.file: got 1s, want more than 1s, the time before it"},
	}
	for _, tt := range tests {
		err := tt.model.Check(100 * time.Millisecond)
		if tt.want == "" {
			if err != nil {
				t.Errorf("%+v: got %v, want no error", tt.model, err)
			}
			continue
		}
		if at := new(setting.Error); !errors.As(err, &at) || err.Error() != tt.want {
			t.Errorf("got  %v\nwant %s", err, tt.want)
		}
	}
}

// with is a model with a change.
func with[M any](model M, change func(*M)) M {
	change(&model)
	return model
}
