package live_test

import (
	"errors"
	"math"
	"testing"
	"testing/synctest"
	"time"

	"looptone/sim"
	"looptone/sim/live"
)

func TestPaceSlowsLineTime(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		runner := live.NewRunner(line)
		var passes [4]float64
		var when [6]sim.Tick
		var errs [3]error
		note := func(i int) func() { return func() { when[i] = line.Now() } }
		runFor(t, runner, 20*time.Second, map[time.Duration]func(){
			time.Second:              func() { passes[0] = runner.Passes(); errs[0] = runner.Pace(0.01); passes[1] = runner.Passes() },
			11 * time.Second:         note(0), // 0.1 s later
			11100 * time.Millisecond: func() { errs[1] = runner.Stop(); note(1)(); passes[2] = runner.Passes() },
			12 * time.Second:         func() { note(2)(); errs[2] = runner.Pace(0.5); passes[3] = runner.Passes() },
			13 * time.Second:         func() { note(3)(); _ = runner.Go() },
			15 * time.Second:         func() { note(4)(); _ = runner.Pace(1) },
			16 * time.Second:         note(5),
		})
		want := [6]float64{1.1, 1.101, 1.101, 1.101, 2.101, 3.101}
		for i := range want {
			if got := when[i].Seconds(); math.Abs(got-want[i]) > 1e-6 {
				t.Errorf("line time %d is %.6f s, want %.6f s", i, got, want[i])
			}
		}
		if passes != [4]float64{1, 0.01, 0, 0} || errors.Join(errs[:]...) != nil {
			t.Errorf("it passes at %v, want 1, 0.01, and twice 0; errors: %v", passes, errs)
		}
	})
}

func TestPaceIsRefused(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		runner := live.NewRunner(sim.NewLine(1))
		for _, factor := range []float64{0, -1, 0.0009, 1.001, math.NaN(), math.Inf(1)} {
			if err := runner.Pace(factor); !errors.Is(err, live.ErrPace) {
				t.Errorf("pace %v: %v, want %v", factor, err, live.ErrPace)
			}
		}
		if got, want := live.ErrPace.Error(), "want a pace from 0.001 to 1, which is that of the wall clock"; got != want {
			t.Errorf("%q, want %q", got, want)
		}
	})
}

// TestWireBringsThePaceBack: somebody who comes from outside lives by the wall clock.
func TestWireBringsThePaceBack(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		runner := live.NewRunner(line)
		here, there := newPipe()
		var refused error
		var passes float64
		var when [2]sim.Tick
		runFor(t, runner, 10*time.Second, map[time.Duration]func(){
			0:               func() { _ = runner.Pace(0.1) },
			2 * time.Second: func() { runner.Attach("host", here, nil) },
			3 * time.Second: func() { refused, passes, when[0] = runner.Pace(0.5), runner.Passes(), line.Now() },
			5 * time.Second: func() { when[1] = line.Now() },
			6 * time.Second: func() { close(there.out) },
		})
		if !errors.Is(refused, live.ErrOutside) || passes != 1 {
			t.Errorf("pace with a wire: %v at %v, want it refused at 1", refused, passes)
		}
		if went := when[1] - when[0]; went != 2*sim.Second || when[0] != sim.Ticks(1200*time.Millisecond) {
			t.Errorf("line time %g s, and in 2 s with a wire it went on by %g s", when[0].Seconds(), went.Seconds())
		}
	})
}

// A stopper is a station that lets line time stand still at a moment, and notes what is
// stepped behind.
type stopper struct {
	runner *live.Runner
	at     sim.Tick
	steps  []sim.Tick
}

func (s *stopper) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	s.steps = append(s.steps, now)
	if now == s.at {
		_ = s.runner.Stop()
	}
	return nil, now + sim.Millisecond
}

// TestStopInAStep: nothing happens behind the moment at which a station lets the line
// stand still, however late the runner is.
func TestStopInAStep(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		runner := live.NewRunner(line)
		s := &stopper{runner: runner, at: 500 * sim.Millisecond}
		line.Join(s)
		runFor(t, runner, 3*time.Second, map[time.Duration]func(){
			400 * time.Millisecond: func() { time.Sleep(time.Second) }, // somebody holds the line up
		})
		if last := s.steps[len(s.steps)-1]; last != s.at || line.Now() > s.at+1 {
			t.Errorf("stepped last at %g s, the line is at %g s; want both at %g s", last.Seconds(), line.Now().Seconds(), s.at.Seconds())
		}
	})
}
