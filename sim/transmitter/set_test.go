package transmitter_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/sim"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// Numbers follow a setting at once, at the grid point reached.
func TestSetActsAtOnce(t *testing.T) {
	tr := start(t, pressure(process.Constant(50)))
	now := 10*sim.Second + 7
	for _, tt := range []struct {
		what    string
		change  func(c *transmitter.Config)
		percent float64
	}{
		{"range", func(c *transmitter.Config) { c.Range.Upper = 200 }, 25},
		{"transfer", func(c *transmitter.Config) { c.Transfer.Power = 0.5 }, 50},
		{"table comes", func(c *transmitter.Config) { c.Table = []transmitter.Point{{X: 0, Y: 10}, {X: 100, Y: 60}} }, 35},
		{"table goes", func(c *transmitter.Config) { c.Table = nil }, 50},
		{"cut-off", func(c *transmitter.Config) { c.Transfer.CutOffPercent = 60 }, 0},
		{"trim", func(c *transmitter.Config) { c.Trim.Offset = 78 }, 80},
		{"low side", func(c *transmitter.Config) { c.Sensor.LowSide = 30 }, 70},
	} {
		set(t, tr, now, tt.change)
		near(t, tt.what, tr.PercentOfRange(), tt.percent, 1e-12)
		near(t, tt.what+": loop current", tr.LoopCurrentMA(), 4+0.16*tt.percent, 1e-12)
		if tr.At() != 10*sim.Second {
			t.Errorf("got the grid point %v, want 10 s", tr.At().Duration())
		}
	}
	set(t, tr, now, func(c *transmitter.Config) {
		c.UserUnit = &transmitter.Scale{Lower: 0, Upper: 10, Unit: cubicPerHour}
	})
	if pv, u := tr.PrimaryVariable(); pv != tr.PercentOfRange()/10 || u != cubicPerHour {
		t.Errorf("got %v %v, want %v %v", pv, u, tr.PercentOfRange()/10, cubicPerHour)
	}
}

// What has been damped stays where it is, and goes on from there with the time
// constant that is new.
func TestSetKeepsWhatIsDamped(t *testing.T) {
	cfg := pressure(process.Step{Before: 0, After: 100, Start: time.Second})
	cfg.DampingS = 10
	tr := start(t, cfg)
	tr.To(11 * sim.Second)
	damped := tr.PercentOfRange()
	near(t, "after one time constant", damped, 63.2, 0.05)
	set(t, tr, 11*sim.Second, func(c *transmitter.Config) { c.DampingS = 2 })
	near(t, "set", tr.PercentOfRange(), damped, 0)
	set(t, tr, 11*sim.Second, func(c *transmitter.Config) { c.Table = []transmitter.Point{{X: 0, Y: 0}, {X: 100, Y: 100}} })
	near(t, "with another path", tr.PercentOfRange(), damped, 1e-12)
	tr.To(13 * sim.Second)
	near(t, "one new time constant later", 100-tr.PercentOfRange(), 0.3679*(100-damped), 0.01)
	set(t, tr, 13*sim.Second, func(c *transmitter.Config) { c.DampingS = 0 })
	near(t, "without damping", tr.PercentOfRange(), 100, 0)
	set(t, tr, 13*sim.Second, func(c *transmitter.Config) { c.DampingS = 5 })
	near(t, "damped again", tr.PercentOfRange(), 100, 0)
}

// A refused setting changes nothing, not even what was right beside it.
func TestSetRefuses(t *testing.T) {
	tr := start(t, complete())
	tr.To(7 * sim.Second)
	cfg, outputs := tr.Config(), tr.Outputs()
	for _, tt := range []struct {
		change func(c *transmitter.Config)
		want   string
	}{
		{func(c *transmitter.Config) { c.Range.Upper = 300 }, "range.upper: got 300 kPa, want -50 to 250 kPa, the sensor's limits"},
		{func(c *transmitter.Config) { c.Table[3].X = 0 },
			"table.points[3]: got 0 % after 13.333333333333334 %, want inputs that rise from point to point"},
		{func(c *transmitter.Config) { c.UserUnit.Unit = kPa },
			"totaliser.unit: got m³, but the primary variable is in kPa, want a primary variable that is a flow, " +
				"for instance by a user_unit in m³/h or kg/h"},
		{func(c *transmitter.Config) { c.Totaliser = nil },
			"totaliser: got another than there was, want the transmitter made anew"},
		{func(c *transmitter.Config) { c.Controller = nil },
			"controller: got another than there was, want the transmitter made anew"},
		{func(c *transmitter.Config) { c.Controller.Gain = 0 }, "controller.gain: got 0, want more than 0"},
	} {
		err := tr.Set(7*sim.Second, func(c *transmitter.Config) {
			c.DampingS, c.Controller.SetPoint, c.UserUnit.Upper = 9, 90, 90
			tt.change(c)
		})
		sentence(t, err, tt.want)
	}
	if diff := cmp.Diff(cfg, tr.Config()); diff != "" {
		t.Errorf("settings before -, after +:\n%s", diff)
	}
	if diff := cmp.Diff(outputs, tr.Outputs()); diff != "" {
		t.Errorf("outputs before -, after +:\n%s", diff)
	}
}

func TestSetLeavesSomeThingsAlone(t *testing.T) {
	tr := start(t, complete())
	want := tr.Config()
	set(t, tr, 0, func(c *transmitter.Config) {
		c.Grid, c.Process.Model = time.Second, process.Constant(1)
		c.Stages = []string{"sensor", "range", "output"}
		c.Sensor.Unit = bar
		c.Totaliser.Begin.Net = 5
		c.Controller.Manual = 7
	})
	if diff := cmp.Diff(want, tr.Config()); diff != "" {
		t.Errorf("settings before -, after +:\n%s", diff)
	}
	tr.To(sim.Second / 10)
	if got := tr.At(); got != sim.Second/10 {
		t.Errorf("got the grid point %v, want 100 ms", got.Duration())
	}
}

// The same setting made once more, or one that changes nothing, is as if it had
// not been made.
func TestSetNothing(t *testing.T) {
	quiet, disturbed := start(t, complete()), start(t, complete())
	for now := sim.Tick(0); now < 60*sim.Second; now += sim.Second * 7 / 10 {
		quiet.To(now)
		set(t, disturbed, now, func(*transmitter.Config) {})
		set(t, disturbed, now, func(*transmitter.Config) {})
		if diff := cmp.Diff(quiet.Outputs(), disturbed.Outputs()); diff != "" {
			t.Fatalf("at %v, left alone -, set +:\n%s", now.Duration(), diff)
		}
	}
}
