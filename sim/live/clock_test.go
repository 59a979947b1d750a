package live_test

import (
	"context"
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/live"
)

// runFor runs a line for a time, with things to do in between, at moments of the
// wall clock.
func runFor(t *testing.T, runner *live.Runner, whole time.Duration, deeds map[time.Duration]func()) {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), whole)
	defer stop()
	for at, do := range deeds {
		time.AfterFunc(at, func() { runner.Do(do) })
	}
	runner.Run(ctx, nil)
}

func TestLineTimeStandsStill(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		talker := &chatter{}
		line.Join(talker)
		runner := live.NewRunner(line)
		var stopped, again, goes, goesAgain error
		var when [2]sim.Tick
		runFor(t, runner, 10500*time.Millisecond, map[time.Duration]func(){
			2 * time.Second: func() { stopped, when[0] = runner.Stop(), line.Now() },
			3 * time.Second: func() { again, when[1] = runner.Stop(), line.Now() },
			6 * time.Second: func() { goes, goesAgain = runner.Go(), runner.Go() },
		})
		if stopped != nil || again != nil || goes != nil || !errors.Is(goesAgain, live.ErrGoing) {
			t.Errorf("stop: %v, %v; go: %v, %v", stopped, again, goes, goesAgain)
		}
		if when[0] != when[1] || when[0] != 2*sim.Second {
			t.Errorf("line time was %v and a second later %v, want 2 s", when[0].Seconds(), when[1].Seconds())
		}
		if talker.said != 64 && talker.said != 65 {
			t.Errorf("%d bursts in 10.5 s of which the line stood still for 4, want one every 0.1 s", talker.said)
		}
	})
}

// TestWireKeepsLineTimeGoing: a line that somebody outside is on cannot be stopped,
// and one that is stopped goes on when somebody comes.
func TestWireKeepsLineTimeGoing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		runner := live.NewRunner(line)
		here, there := newPipe()
		var first, second, third error
		var until sim.Tick
		runFor(t, runner, 10*time.Second, map[time.Duration]func(){
			time.Second:     func() { first = runner.Stop() },
			3 * time.Second: func() { runner.Attach("host", here, nil) },
			5 * time.Second: func() { second = runner.Stop() },
			6 * time.Second: func() { close(there.out) },
			8 * time.Second: func() { third, until = runner.Stop(), line.Now() },
		})
		if first != nil || !errors.Is(second, live.ErrOutside) || third != nil {
			t.Errorf("stopped without a wire: %v, with one: %v, when it had gone: %v", first, second, third)
		}
		if until != 6*sim.Second {
			t.Errorf("line time %v after 8 s with 2 s of standing still, want 6 s", until.Seconds())
		}
	})
}

// slow is a wire that takes its time for every message.
type slow struct{ late time.Duration }

func (slow) Arrivals() <-chan frame.Arrival { return nil }

func (s slow) Send(ctx context.Context, at time.Time, _, _ time.Duration, chars []byte) error {
	time.Sleep(time.Until(at) + s.late)
	return ctx.Err()
}

// TestLateMessages: a message that cannot leave in time, since the one before is
// still on its way, is told.
func TestLateMessages(t *testing.T) {
	for _, c := range []struct {
		late time.Duration
		told bool
	}{{50 * time.Millisecond, false}, {115 * time.Millisecond, false}, {130 * time.Millisecond, true}} {
		synctest.Test(t, func(t *testing.T) {
			line := sim.NewLine(1)
			line.Join(&chatter{})
			runner := live.NewRunner(line)
			runner.Attach("host", slow{c.late}, nil)
			var told []time.Duration
			runner.OnLate(func(by time.Duration) { told = append(told, by) })
			runFor(t, runner, 350*time.Millisecond, nil)
			if (len(told) > 0) != c.told {
				t.Errorf("%v for a message every 100 ms: told %v", c.late, told)
			}
			if len(told) > 0 && (told[0] < 18*time.Millisecond || told[0] > 40*time.Millisecond) {
				t.Errorf("%v for a message every 100 ms: the first that is late is late by %v, want 30 ms", c.late, told[0])
			}
		})
	}
}

// sends is a wire that keeps when it was to send.
type sends struct {
	at    []time.Time
	chars []int
}

func (*sends) Arrivals() <-chan frame.Arrival { return nil }

func (s *sends) Send(_ context.Context, at time.Time, _, _ time.Duration, chars []byte) error {
	s.at, s.chars = append(s.at, at), append(s.chars, len(chars))
	return nil
}

// once is a station that sends one burst at moment 0.
type once struct{ burst *sim.Burst }

func (o *once) Step(sim.Tick, []sim.Heard) (b *sim.Burst, wake sim.Tick) {
	b, o.burst = o.burst, nil
	return b, sim.Never
}

// TestPauseGoesOutAsAPause: what stands behind a pause is sent later, not what
// stands in front.
func TestPauseGoesOutAsAPause(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		line := sim.NewLine(1)
		w := &sends{}
		runner := live.NewRunner(line)
		runner.Attach("host", w, nil)
		began := time.Now()
		runFor(t, runner, time.Second, map[time.Duration]func(){
			100 * time.Millisecond: func() {
				line.Join(&once{&sim.Burst{Chars: make([]byte, 7), Pauses: []sim.Pause{{Before: 4, For: 3 * sim.Character}}}})
			},
		})
		if len(w.at) != 2 || w.chars[0] != 4 || w.chars[1] != 3 {
			t.Fatalf("sent runs of %v characters, want 4 and 3", w.chars)
		}
		if got, want := w.at[0].Sub(began), 100*time.Millisecond; got != want {
			t.Errorf("first run after %v, want %v", got, want)
		}
		if got, want := w.at[1].Sub(w.at[0]), (7 * sim.Character).Duration(); got < want-time.Microsecond || got > want+time.Microsecond {
			t.Errorf("second run %v behind the first, want %v", got, want)
		}
	})
}
