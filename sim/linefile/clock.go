package linefile

import (
	"errors"

	"looptone/frame/userfile"
	"looptone/sim"
)

// A Clock lets line time stand still; [live.Runner] is one.
type Clock interface {
	Stop() error // the error says why not
	Go() error
}

// readTrue wants a key to be true.
func readTrue(key string) func(*userfile.Table, *Description, *Action) {
	return func(t *userfile.Table, _ *Description, _ *Action) {
		if !t.Truth(key, true) {
			t.RefuseValue(key, "true")
		}
	}
}

func readGo(t *userfile.Table, d *Description, x *Action) {
	readTrue("go")(t, d, x)
	if x.Timed {
		t.Refuse("go", errors.New("go stands beside a time, to which a line that stands still never comes: want it without"))
	}
}

func stop(a *Assembly, _ sim.Tick, x *Action) error {
	if a.Clock == nil {
		return x.table.Placed("stop", errNoClock)
	}
	return x.clock("stop", a.Clock.Stop())
}

func goOn(a *Assembly, _ sim.Tick, x *Action) error {
	if a.Clock == nil {
		return x.table.Placed("go", errNoClock)
	}
	return x.clock("go", a.Clock.Go())
}

// clock gives what a clock refuses a place.
func (x *Action) clock(key string, err error) error {
	if err == nil {
		return nil
	}
	return x.table.Placed(key, err)
}

// errNoClock refuses to stop a line that has no clock.
var errNoClock = errors.New("line time cannot stand still here: it is computed, and follows no clock")
