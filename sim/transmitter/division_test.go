package transmitter_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// Any division of line time, and any reading on the way, gives the same numbers
// to the last bit.
func TestDivisionOfTimeDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cfg := drawConfig(t)
		end := sim.Tick(rapid.Int64Range(0, int64(20*sim.Second)).Draw(t, "end"))
		set := sim.Tick(rapid.Int64Range(0, int64(end)).Draw(t, "moment of the setting"))
		value := rapid.Float64Range(-100, 300).Draw(t, "value set")
		divisions := rapid.SliceOfN(rapid.Int64Range(0, int64(end)), 0, 50).Draw(t, "moments of reading")

		whole := run(t, cfg, end, set, value, nil)
		divided := run(t, cfg, end, set, value, divisions)
		if diff := cmp.Diff(whole, divided); diff != "" {
			t.Fatalf("in one go -, divided +:\n%s", diff)
		}
	})
}

// run goes to end over the moments, in any order since an earlier one changes
// nothing, sets the process on the way, and reads everything.
func run(t *rapid.T, cfg transmitter.Config, end, set sim.Tick, value float64, moments []int64) []any {
	tr, err := transmitter.New(cfg)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range moments {
		if sim.Tick(m) <= set {
			tr.To(sim.Tick(m))
			tr.Outputs()
		}
	}
	if err := tr.SetProcess(set, value); err != nil {
		t.Fatal(err)
	}
	for _, m := range moments {
		if sim.Tick(m) > set {
			tr.To(sim.Tick(m))
			tr.PrimaryVariable()
		}
	}
	tr.To(end)
	pv, u := tr.PrimaryVariable()
	return []any{tr.Outputs(), tr.Status(), pv, u}
}

func drawConfig(t *rapid.T) transmitter.Config {
	cfg := pressure(rapid.SampledFrom([]process.Model{
		process.Constant(60),
		process.Step{Before: 10, After: 90, Start: 3 * time.Second},
		process.Ramp{From: -80, To: 300, Start: time.Second, Length: 12 * time.Second},
		process.Sine{Low: -60, High: 260, Period: 7 * time.Second},
	}).Draw(t, "model"))
	cfg.Grid = time.Duration(rapid.Int64Range(int64(transmitter.ShortestGrid),
		int64(transmitter.LongestGrid)).Draw(t, "grid"))
	cfg.Process.Noise = rapid.SampledFrom([]float64{0, 0.5}).Draw(t, "noise")
	cfg.Process.Seed = rapid.Uint64().Draw(t, "seed")
	cfg.DampingS = rapid.Float64Range(0, 30).Draw(t, "damping")
	cfg.Transfer = transmitter.Transfer{Power: rapid.SampledFrom([]float64{1, 0.5, 1.5}).Draw(t, "power")}
	return cfg
}
