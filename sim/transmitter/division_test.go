package transmitter_test

import (
	"fmt"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// An act is something done to one of several transmitters at a moment.
type act struct {
	at   sim.Tick
	on   int
	what string
	do   func(tr *transmitter.Transmitter) error
}

// Any division of line time, any reading on the way and any order of asking gives
// the same numbers to the last bit, with settings made on the way, and with valves
// that are driven by each other's current, whichever joined first.
func TestDivisionOfTimeDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 3).Draw(t, "transmitters")
		configs := make([]transmitter.Config, n)
		valves := map[int]int{} // whose current opens it, of those that have a valve
		for i := range configs {
			configs[i] = drawConfig(t)
			if valve := rapid.IntRange(-1, n-1).Draw(t, "valve"); valve >= 0 {
				valves[i] = valve
			}
		}
		acts := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) act { return drawAct(t, n) }), 0, 8).Draw(t, "acts")
		slices.SortStableFunc(acts, func(a, b act) int { return int(a.at - b.at) })
		readings := rapid.SliceOfN(rapid.Int64Range(0, int64(end)), 0, 60).Draw(t, "moments of reading")
		slices.Sort(readings)

		joining := rapid.Permutation(slices.Sorted(maps.Keys(valves))).Draw(t, "order of joining")

		whole := run(t, configs, valves, slices.Sorted(maps.Keys(valves)), acts, nil)
		divided := run(t, configs, valves, joining, acts, readings)
		if diff := cmp.Diff(whole, divided, cmpopts.EquateNaNs()); diff != "" {
			t.Fatalf("in one go -, divided +:\n%s", diff)
		}
	})
}

const end = 20 * sim.Second

// run goes to the end over the acts, reads at the moments on the way, and gives
// everything that can be read at last, and what was refused.
func run(t *rapid.T, configs []transmitter.Config, valves map[int]int, joining []int, acts []act, readings []int64) (all []any) {
	list := make([]*transmitter.Transmitter, len(configs))
	for i, cfg := range configs {
		var err error
		if list[i], err = transmitter.New(cfg); err != nil {
			t.Fatal(err)
		}
	}
	for _, i := range joining {
		list[i].Follow(list[valves[i]])
	}
	read := func(before sim.Tick) {
		for len(readings) > 0 && sim.Tick(readings[0]) < before {
			tr := list[int(readings[0])%len(list)]
			tr.To(sim.Tick(readings[0]))
			tr.To(0) // which changes nothing
			tr.Outputs()
			tr.PrimaryVariable()
			readings = readings[1:]
		}
	}
	for _, a := range acts {
		read(a.at)
		all = append(all, fmt.Sprint(a.do(list[a.on])))
	}
	read(end)
	for _, tr := range list {
		tr.To(end)
		pv, u := tr.PrimaryVariable()
		all = append(all, tr.Outputs(), tr.Status(), tr.Totals(), pv, u, tr.Applied(), tr.Config().Controller,
			tr.WantMA(), tr.WireCurrentMA(), tr.LoopCurrentMA())
	}
	return all
}

func drawAct(t *rapid.T, transmitters int) act {
	a := act{at: sim.Tick(rapid.Int64Range(0, int64(end)).Draw(t, "moment")), on: rapid.IntRange(0, transmitters-1).Draw(t, "on")}
	x := rapid.Float64Range(-20, 120).Draw(t, "x")
	setting := func(change func(c *transmitter.Config)) func(tr *transmitter.Transmitter) error {
		return func(tr *transmitter.Transmitter) error { return tr.Set(a.at, change) }
	}
	does := map[string]func(tr *transmitter.Transmitter) error{
		"totals":   func(tr *transmitter.Transmitter) error { tr.SetTotals(a.at, transmitter.Totals{Net: x}); return nil },
		"off":      func(tr *transmitter.Transmitter) error { tr.Power(a.at, false); return nil },
		"on":       func(tr *transmitter.Transmitter) error { tr.Power(a.at, true); return nil },
		"zero":     func(tr *transmitter.Transmitter) error { return tr.ZeroTrim(a.at) },
		"lower":    func(tr *transmitter.Transmitter) error { return tr.TrimLower(a.at, x) },
		"low side": setting(func(c *transmitter.Config) { c.Sensor.LowSide = x / 5 }),
		"range":    setting(func(c *transmitter.Config) { c.Range.Upper = x }),
		"damping":  setting(func(c *transmitter.Config) { c.DampingS = max(x, 0) / 10 }),
		"transfer": setting(func(c *transmitter.Config) { c.Transfer.CutOffPercent = max(x/5, 0) }),
		"source":   setting(func(c *transmitter.Config) { c.Source = transmitter.ProcessVariable }),
		"fixed":    setting(func(c *transmitter.Config) { c.Current.Mode = transmitter.Fixed }),
		"table":    setting(func(c *transmitter.Config) { c.Table = []transmitter.Point{{X: 0, Y: x}, {X: 100, Y: 50}} }),
		"controller": setting(func(c *transmitter.Config) {
			if c.Controller != nil {
				c.Controller.Gain, c.Controller.SetPoint = max(x, 1)/30, x
				c.Controller.Mode = transmitter.ControllerMode(uint(x+20) % 3)
			}
		}),
	}
	a.what = rapid.SampledFrom(slices.Sorted(maps.Keys(does))).Draw(t, "act")
	a.do = does[a.what]
	return a
}

func drawConfig(t *rapid.T) transmitter.Config {
	cfg := complete()
	if rapid.Bool().Draw(t, "plain") {
		cfg = pressure(nil)
	}
	cfg.Process.Model = rapid.SampledFrom([]process.Model{
		process.Constant(60),
		process.Step{Before: 10, After: 90, Start: 3 * time.Second},
		process.Ramp{From: -80, To: 300, Start: time.Second, Length: 12 * time.Second},
		process.Sine{Low: -60, High: 260, Period: 7 * time.Second},
		lagging{Begin: 20, Full: 110, TimeS: 2},
		process.Thermal{Ambient: 20, Rise: 80, TimeConstant: 3 * time.Second},
		process.Tank{Shape: process.Sphere, VolumeM3: 0.5, HeightM: 10, DensityKgM3: 1000, LevelPercent: 60,
			InflowM3H: 150, OutflowM3H: 300, AboveKPa: 5},
		process.Orifice{PipeMM: 100, BoreMM: 60, Discharge: 0.606, Expansibility: 1, DensityKgM3: 1000,
			FlowKgH: 80e3, SwingKgH: 20e3, Period: 9 * time.Second, LagS: 1},
		process.Playback{Points: []process.Sample{{At: time.Second, Value: 20}, {At: 4 * time.Second, Value: 110}}, Repeat: true},
		broken{process.Constant(30), 5 * sim.Second, 8 * sim.Second},
	}).Draw(t, "model")
	cfg.Grid = time.Duration(rapid.Int64Range(int64(50*time.Millisecond),
		int64(transmitter.LongestGrid)).Draw(t, "grid"))
	cfg.Process.Noise = rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "noise")
	cfg.Process.Seed = rapid.Uint64().Draw(t, "seed")
	cfg.Process.FailsAt = rapid.SampledFrom([]time.Duration{0, 0, 11 * time.Second}).Draw(t, "fails at")
	cfg.DampingS = rapid.Float64Range(0, 30).Draw(t, "damping")
	if rapid.Bool().Draw(t, "order of its own") {
		cfg.Stages = drawOrder(t, &cfg)
	}
	return cfg
}

// drawOrder is one of the orders in which the stages of cfg may stand.
func drawOrder(t *rapid.T, cfg *transmitter.Config) []string {
	behind := []string{"transfer"}
	if cfg.UserUnit != nil { // then cfg is complete
		behind = append(behind, "table", "user_unit", "totaliser", "controller")
	}
	behind = rapid.Permutation(behind).Draw(t, "behind the range")
	if scaled, added := slices.Index(behind, "user_unit"), slices.Index(behind, "totaliser"); scaled > added {
		behind[scaled], behind[added] = behind[added], behind[scaled]
	}
	order := slices.Concat([]string{"sensor", "characterisation", "trim", "range"}, behind, []string{"output"})
	return slices.Insert(order, rapid.IntRange(1, len(order)-1).Draw(t, "place of the damping"), "damping")
}
