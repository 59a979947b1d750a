package view_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"looptone/cmd/looptone/view"
	"looptone/sim/loop"
)

// By hand: 500 ohm and 1000 m of 25 ohm/km are 550 ohm, which leave 21.8 V of 24 V at
// 4 mA and 13 V at 20 mA. 2 mA of tones make 1 V across 500 ohm; a host of 100 ohm that
// gives 0.5 V across 250 ohm gives 0.7 V times 500/600 across them.
func TestBudgetObjectsByHand(t *testing.T) {
	l, _ := trap(1)
	l.ResistorOhm, l.Devices[0].Behind = 500, 0
	l.Cables = []loop.Cable{{Name: "trunk", Behind: loop.Source, LengthM: 1000, OhmPerKM: 25}}
	got := string(view.AppendBudget(nil, "x", l.Reckon([]float64{4}, []float64{20})))
	for _, want := range []string{
		`{"cable":"trunk","behind":null,"length_m":1000,"ohm_per_km":25,"nf_per_km":0,"end_v":21.8,"worst_end_v":13}`,
		`{"device":"LT-401","behind":"trunk","dark":null,"terminal_v":21.8,"had_v":21.8,"worst_terminal_v":13,"lift_off_v":10.5,` +
			`"loop_current_ma":4,"worst_loop_current_ma":20,"input_nf":0,"hears_v":0.583333,"heard_v":1}`,
	} {
		if !strings.Contains(got, want+"\n") {
			t.Errorf("no %s in\n%s", want, got)
		}
	}
}

// What is not known is null, which no number is.
func TestBudgetObjectOfWhatIsNotKnown(t *testing.T) {
	l, parked := trap(1)
	l.Devices[0].LiftOffV = 0
	l.Host = loop.Host{At: loop.AcrossDevice}
	b := reckoned(l, parked, loop.Verdict{Limit: "lift-off voltage", Device: "LT-401", Finding: loop.Unknown,
		Got: math.NaN(), Want: math.NaN(), Says: `says "so"`})
	got := strings.Split(string(view.AppendBudget(nil, "x", b)), "\n")
	for _, want := range []string{
		`"supply_ma":null,`, `"host_at":"LT-401",`, `"need_v":null,"most_devices":null,"most_like":null}`, `"lift_off_v":null,`,
		`{"limit":"lift-off voltage","device":"LT-401","verdict":"unknown","got":null,"want":null,"unit":null,"says":"says \"so\"","mend":null}`,
	} {
		if !slices.ContainsFunc(got, func(line string) bool { return strings.Contains(line, want) }) {
			t.Errorf("no %s in\n%s", want, strings.Join(got, "\n"))
		}
	}
}

func checkBudgetObjects(t *rapid.T, lines []byte, b *loop.Budget) {
	kinds := map[string][]map[string]any{}
	for line := range strings.Lines(string(lines)) {
		var o map[string]any
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		kind, _, _ := strings.Cut(strings.TrimPrefix(line, `{"`), `"`)
		kinds[kind] = append(kinds[kind], o)
	}
	for kind, want := range map[string]int{"line": 1, "cable": len(b.Loop.Cables), "device": len(b.Loop.Devices),
		"rule": len(b.Rules), "limit": len(b.Verdicts), "assumed": 1} {
		if got := len(kinds[kind]); got != want {
			t.Fatalf("%d objects of the kind %s, want %d", got, kind, want)
		}
	}
	if line := kinds["line"][0]; line["in_order"] != b.OK() || !near(line["worst_sum_ma"], b.Worst.SumMA) || !near(line["sum_ma"], b.Now.SumMA) {
		t.Fatalf("the line is %v, want %v mA and %v mA, %v", line, b.Now.SumMA, b.Worst.SumMA, b.OK())
	}
	for i, o := range kinds["device"] {
		if !near(o["terminal_v"], b.Now.Devices[i].V) || !near(o["worst_terminal_v"], b.Worst.Devices[i].V) || !near(o["hears_v"], b.Tones.Level(loop.TheHost, i)) ||
			(o["dark"] == nil) != (b.Now.Devices[i].Dark == loop.Lit) || (o["lift_off_v"] == nil) != (b.Loop.Devices[i].LiftOffV == 0) {
			t.Fatalf("device %d is %v, want %v", i, o, b.Now.Devices[i])
		}
	}
	for i, o := range kinds["limit"] {
		if v := &b.Verdicts[i]; o["says"] != v.Says || !near(o["got"], v.Got) || !near(o["want"], v.Want) {
			t.Fatalf("verdict %d is %v, want %v", i, o, v)
		}
	}
	if cautions := kinds["assumed"][0]["cautions"].([]any); len(cautions) != len(view.Cautions) {
		t.Fatalf("%d cautions, want %d", len(cautions), len(view.Cautions))
	}
}

// near reports whether a number of JSON is x to a millionth; null is no number.
func near(got any, x float64) bool {
	f, ok := got.(float64)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return got == nil
	}
	return ok && math.Abs(f-x) <= 0.6e-6+1e-12*math.Abs(x)
}
