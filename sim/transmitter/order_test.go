package transmitter_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// names are those of the outputs.
func names(tr *transmitter.Transmitter) (list []string) {
	for _, o := range tr.Outputs() {
		list = append(list, o.Name)
	}
	return list
}

func TestOutputsInTheUsualOrder(t *testing.T) {
	cfg := complete()
	cfg.Process.Model, cfg.Process.Noise = process.Constant(260), 0
	cfg.Sensor.Temperature, cfg.Characterisation = transmitter.Temperature{}, transmitter.Temperature{}
	cfg.Sensor.LowSide, cfg.Trim = 10, transmitter.Trim{Offset: -5}
	cfg.Range.Upper = 245
	cfg.Table = []transmitter.Point{{X: 0, Y: 0}, {X: 100, Y: 50}}
	cfg.UserUnit = &transmitter.Scale{Lower: 0, Upper: 10, Unit: cubicPerHour}
	cfg.Totaliser.Begin = transmitter.Totals{Net: 3, Forward: 7}
	cfg.Current.Converter = transmitter.Converter{Offset: 0.5}
	want := []transmitter.Output{
		{Name: "process", Value: 260, Unit: kPa},
		{Name: "sensor", Value: 250, Unit: kPa},
		{Name: "characterisation", Value: 250, Unit: kPa},
		{Name: "damping", Value: 250, Unit: kPa},
		{Name: "trim", Value: 245, Unit: kPa},
		{Name: "range", Value: 100, Unit: unit.Percent},
		{Name: "transfer", Value: 100, Unit: unit.Percent},
		{Name: "table", Value: 50, Unit: unit.Percent},
		{Name: "user_unit", Value: 5, Unit: cubicPerHour},
		{Name: "totaliser", Value: 3, Unit: cubicMetre},
		{Name: "totaliser_forward", Value: 7, Unit: cubicMetre},
		{Name: "controller", Value: 40, Unit: unit.Percent},
		{Name: "output", Value: 10.4, Unit: unit.Milliampere},
		{Name: "loop_current", Value: 10.9, Unit: unit.Milliampere},
	}
	tr := start(t, cfg)
	if diff := cmp.Diff(want, tr.Outputs()); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
	for _, o := range want {
		if got, ok := tr.Output(o.Name); !ok || got != o {
			t.Errorf("%s: got %+v, %v", o.Name, got, ok)
		}
	}
	if got, ok := tr.Output("nothing"); ok {
		t.Errorf("got %+v of an output that is not there", got)
	}
}

// What a device does not have gives no output.
func TestOutputsOfAPlainTransmitter(t *testing.T) {
	want := []string{"process", "sensor", "characterisation", "damping", "trim", "range", "transfer", "output", "loop_current"}
	if diff := cmp.Diff(want, names(start(t, pressure(process.Constant(0))))); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

// Every stage's name is one that a list of stages may hold, and gives an output.
func TestStageList(t *testing.T) {
	cfg := complete()
	for _, s := range transmitter.StageList() {
		cfg.Stages = append(cfg.Stages, s.Name)
		if s.Unit == "" || !strings.HasSuffix(s.What, ".") || strings.Count(s.What, ". ") > 0 {
			t.Errorf("%s: got unit %q and the text %q, want one sentence", s.Name, s.Unit, s.What)
		}
	}
	want := names(start(t, cfg))
	cfg.Stages = nil
	if diff := cmp.Diff(names(start(t, cfg)), want); diff != "" {
		t.Errorf("usual order -, listed +:\n%s", diff)
	}
}

// The order decides what acts on what.
func TestOrderOfStages(t *testing.T) {
	cfg := pressure(process.Constant(25))
	cfg.Transfer.Power = 0.5
	cfg.Table = []transmitter.Point{{X: 0, Y: 0}, {X: 100, Y: 64}}
	cfg.UserUnit = &transmitter.Scale{Lower: 0, Upper: 1000, Unit: kPa}
	for _, tt := range []struct {
		middle  string // of the list
		percent float64
		scaled  float64 // the primary variable
		pv      float64 // that the controller sees
	}{
		{"range transfer table user_unit controller", 32, 320, 32},
		{"range table transfer user_unit controller", 40, 400, 40},
		{"range user_unit table transfer controller", 40, 250, 40},
		{"range controller transfer user_unit table", 32, 500, 25},
	} {
		cfg.Stages = slices.Concat([]string{"sensor"}, strings.Fields(tt.middle), []string{"output"})
		cfg.Controller = &transmitter.Controller{Mode: transmitter.Auto, SetPoint: tt.pv, Manual: 10, Gain: 1, IntegralS: 1}
		tr := start(t, cfg)
		near(t, tt.middle+": percent of range", tr.PercentOfRange(), tt.percent, 1e-12)
		near(t, tt.middle+": loop current", tr.LoopCurrentMA(), 4+0.16*tt.percent, 1e-12)
		pv, _ := tr.PrimaryVariable()
		near(t, tt.middle+": primary variable", pv, tt.scaled, 1e-12)
		tr.To(10 * sim.Second)
		near(t, tt.middle+": controller without an error", output(t, tr, "controller"), 10, 1e-9)
	}
}

// Damping works where it stands, in the unit that it finds there.
func TestDampingAnywhere(t *testing.T) {
	cfg := pressure(process.Constant(50))
	cfg.DampingS = 2
	for middle, u := range map[string]unit.Code{
		"damping characterisation trim range": kPa,
		"characterisation trim damping range": kPa,
		"characterisation trim range damping": unit.Percent,
	} {
		cfg.Stages = slices.Concat([]string{"sensor"}, strings.Fields(middle), []string{"output"})
		o, ok := start(t, cfg).Output("damping")
		if want := (transmitter.Output{Name: "damping", Value: 50, Unit: u}); !ok || o != want {
			t.Errorf("%s: got %+v, want %+v", middle, o, want)
		}
	}
}

func TestOrderRefuses(t *testing.T) {
	type config = transmitter.Config
	controller := transmitter.Controller{Gain: 1}
	tests := []struct {
		stages string
		change func(c *config)
		want   string
	}{
		{"sensor sensr range output", nil, `stages[1]: got "sensr", want one of sensor, characterisation, damping, trim, range, ` +
			`transfer, table, user_unit, totaliser, controller, output`},
		{"sensor process range output", nil, `stages[1]: got "process", want one of sensor, characterisation, damping, trim, range, ` +
			`transfer, table, user_unit, totaliser, controller, output`},
		{"sensor damping range damping output", nil, `stages[3]: got "damping", want every stage once: it is stages[1] already`},
		{"damping range output", nil, `stages[0]: got "damping", want "sensor" as the first one`},
		{"output", nil, `stages[0]: got "output", want "sensor" as the first one`},
		{"sensor range", nil, `stages[1]: got "range", want "output" as the last one`},
		{"sensor", nil, `stages[0]: got "sensor", want "output" as the last one`},
		{"sensor output range", nil, `stages[1]: got "output", want it as the last one`},
		{"sensor output", nil, `stages: got a list without "range", want one with it: no path is without`},
		{"", nil, `stages: got a list without "sensor", want one with it: no path is without`},
		{"sensor range trim output", nil, `stages[2]: got "trim", want it before "range": it works in the sensor's unit`},
		{"sensor range characterisation output", nil,
			`stages[2]: got "characterisation", want it before "range": it works in the sensor's unit`},
		{"sensor trim characterisation range output", nil,
			`stages[2]: got "characterisation", want it before "trim": the trim corrects what it gives`},
		{"sensor transfer range output", nil, `stages[1]: got "transfer", want it behind "range": it works on what the range gives`},
		{"sensor controller range output", func(c *config) { c.Controller = &controller },
			`stages[1]: got "controller", want it behind "range": it works on what the range gives`},
		{"sensor range totaliser user_unit output", func(c *config) {
			c.UserUnit = &transmitter.Scale{Upper: 1, Unit: cubicPerHour}
			c.Totaliser = &transmitter.Totaliser{Unit: cubicMetre}
		}, `stages[3]: got "user_unit", want it before "totaliser", which adds up what it gives`},
		{"sensor range table output", nil, `stages[2]: got "table", want its settings beside it: there is none without`},
		{"sensor range user_unit output", nil, `stages[2]: got "user_unit", want its settings beside it: there is none without`},
		{"sensor range totaliser output", nil, `stages[2]: got "totaliser", want its settings beside it: there is none without`},
		{"sensor range controller output", nil, `stages[2]: got "controller", want its settings beside it: there is none without`},
		{"sensor range output", func(c *config) { c.Table = []transmitter.Point{{X: 0, Y: 0}, {X: 1, Y: 1}} },
			`stages: got a list without "table", want one with it, as it has settings, or none of those`},
		{"sensor range output", func(c *config) { c.DampingS = 1 },
			`stages: got a list without "damping", want one with it, as it has settings, or none of those`},
		{"sensor range output", func(c *config) { c.Characterisation.ZeroPerK = 1 },
			`stages: got a list without "characterisation", want one with it, as it has settings, or none of those`},
		{"sensor range output", func(c *config) { c.Transfer.CutOffPercent = 1 },
			`stages: got a list without "transfer", want one with it, as it has settings, or none of those`},
		{"sensor range output", func(c *config) { c.Trim.Offset = 1 },
			`stages: got a list without "trim", want one with it, as it has settings, or none of those`},
		{"sensor range output", func(c *config) { c.Controller = &controller },
			`stages: got a list without "controller", want one with it, as it has settings, or none of those`},
	}
	for _, tt := range tests {
		cfg := pressure(process.Constant(0))
		cfg.Stages = strings.Fields(tt.stages)
		if tt.change != nil {
			tt.change(&cfg)
		}
		_, err := transmitter.New(cfg)
		sentence(t, err, tt.want)
	}
}
