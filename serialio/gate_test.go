package serialio

import (
	"errors"
	"fmt"
	"slices"
	"syscall"
	"testing"
	"testing/synctest"
	"time"
)

// story is what a port hands on until it is closed, in words.
func story(r *rig, p *Port) (told []string) {
	for a := range p.Arrivals() {
		at := a.At.Sub(r.began)
		switch {
		case a.Carrier != 0:
			told = append(told, fmt.Sprintf("%v carrier %+d", at, a.Carrier))
		default:
			told = append(told, fmt.Sprintf("%v % x", at, a.Chars))
		}
	}
	return told
}

func TestCarrierGate(t *testing.T) {
	type deeds map[time.Duration]func(r *rig)
	carrier := func(on Lines) func(*rig) { return func(r *rig) { r.set(on) } }
	comes := func(chars ...byte) func(*rig) { return func(r *rig) { r.in <- chars } }
	tests := []struct {
		name    string
		modem   Modem
		deeds   deeds
		want    []string
		dropped int64
	}{
		{"nothing is there", Modem{Carrier: DCD}, deeds{}, nil, 0},
		{"a message", Modem{Carrier: DCD},
			deeds{10 * ms: comes(1), 21 * ms: carrier(DCD), 30 * ms: comes(2), 40 * ms: comes(3), 45 * ms: carrier(0), 90 * ms: comes(4, 5)},
			[]string{"24ms carrier +1", "30ms 02", "40ms 03", "48ms carrier -1"}, 3},
		{"its first character is there before the carrier was looked at", Modem{Carrier: DCD},
			deeds{21 * ms: carrier(DCD), 22 * ms: comes(2)},
			[]string{"22ms carrier +1", "22ms 02"}, 0},
		{"its last characters come late", Modem{Carrier: DCD},
			deeds{21 * ms: carrier(DCD), 30 * ms: comes(2), 45 * ms: carrier(0), 63 * ms: comes(3), 65 * ms: comes(4)},
			[]string{"24ms carrier +1", "30ms 02", "63ms 03", "63ms carrier -1"}, 1},
		{"it flickers", Modem{Carrier: DCD},
			deeds{21 * ms: carrier(DCD), 45 * ms: carrier(0), 50 * ms: comes(2), 53 * ms: carrier(DCD), 70 * ms: comes(3)},
			[]string{"24ms carrier +1", "50ms 02", "50ms carrier -1", "56ms carrier +1", "70ms 03"}, 0},
		{"it is there from the beginning", Modem{Carrier: DCD, Invert: DCD},
			deeds{10 * ms: comes(1)},
			[]string{"0s carrier +1", "10ms 01"}, 0},
		{"inverted", Modem{Carrier: CTS, Invert: CTS | RTS},
			deeds{1 * ms: carrier(CTS), 41 * ms: carrier(0), 50 * ms: comes(1)},
			[]string{"0s carrier +1", "4ms carrier -1", "44ms carrier +1", "50ms 01"}, 0},
		{"another input", Modem{Carrier: CTS},
			deeds{10 * ms: carrier(DCD | DSR | RI), 50 * ms: comes(1)}, nil, 1},
		{"CTS", Modem{Carrier: CTS}, deeds{10 * ms: carrier(CTS)}, []string{"12ms carrier +1"}, 0},
		{"DSR", Modem{Carrier: DSR}, deeds{10 * ms: carrier(DSR)}, []string{"12ms carrier +1"}, 0},
		{"RI", Modem{Carrier: RI}, deeds{10 * ms: carrier(RI)}, []string{"12ms carrier +1"}, 0},
		{"no gate", Modem{}, deeds{10 * ms: comes(1)}, []string{"10ms 01"}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			onRig(t, tt.modem, func(t *testing.T, r *rig, p *Port) {
				for at, do := range tt.deeds {
					after(at, func() { do(r) })
				}
				after(200*ms, func() { p.Close() })
				if got := story(r, p); !slices.Equal(got, tt.want) {
					t.Errorf("got\n%q, want\n%q", got, tt.want)
				}
				if p.Dropped() != tt.dropped || p.Err() != nil {
					t.Errorf("dropped %d, want %d; %v", p.Dropped(), tt.dropped, p.Err())
				}
			})
		})
	}
}

// A modem that sends may show no carrier of its own: its echo passes all the same, and
// nothing else does.
func TestEchoPassesWithoutACarrier(t *testing.T) {
	onRig(t, Modem{Carrier: DCD, Echo: true}, func(t *testing.T, r *rig, p *Port) {
		after(20*ms, func() { r.in <- []byte{1, 9} })
		after(60*ms, func() { r.in <- []byte{5} })
		after(200*ms, func() { p.Close() })
		if err := p.Send(t.Context(), r.began, 0, 0, []byte{1, 2}); err != nil {
			t.Fatal(err)
		}
		if got, want := story(r, p), []string{"20ms 01", "20ms 09"}; !slices.Equal(got, want) || p.Dropped() != 1 {
			t.Errorf("got %q, dropped %d, want %q and 1", got, p.Dropped(), want)
		}
	})
}

// A port whose inputs cannot be read any more does not wait for a character to find
// that out.
func TestCarrierThatCannotBeLookedAt(t *testing.T) {
	onRig(t, Modem{Carrier: DCD}, func(t *testing.T, r *rig, p *Port) {
		after(50*ms, func() { r.fail("inputs", syscall.EIO) })
		if got := story(r, p); got != nil {
			t.Errorf("got %q", got)
		}
		want := "read rig: look for the carrier: the other end is gone"
		if err := p.Err(); !errors.Is(err, ErrGone) || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
		if d := time.Since(r.began); d > 60*ms {
			t.Errorf("that took %v", d)
		}
		r.want(t, "52ms close") // or the reader would stay
	})
}

// Nobody reads: neither the backlog nor a reader with a character in hand holds up Close.
func TestCloseBehindAGateNeedsNoConsumer(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig()
		r.set(DCD)
		p := newPort("rig", r, Settings{Modem: Modem{Carrier: DCD}})
		go func() {
			for {
				select {
				case r.in <- []byte{1}:
				case <-r.gone:
					return
				}
			}
		}()
		synctest.Wait()
		if err := p.Close(); err != nil {
			t.Error(err)
		}
		if got := len(story(r, p)); got != backlog || p.Err() != nil {
			t.Errorf("got %d arrivals, want %d; %v", got, backlog, p.Err())
		}
	})
}

// Whatever the carrier does, what the gate tells alternates, and nothing passes between
// off and on.
func TestGateAlternates(t *testing.T) {
	var g gate
	now, on, passed := time.Now(), false, 0
	last := int8(-1)
	for i := range 10_000 {
		if i*i%7 < 2 { // for some steps of 4 ms each, or for long
			on = !on
		}
		now = now.Add(4 * ms)
		for _, a := range g.see(on, now) {
			if a.Carrier != -last || len(a.Chars) > 0 || a.At.After(now) {
				t.Fatalf("step %d: %+v behind carrier %+d", i, a, last)
			}
			last = a.Carrier
		}
		if g.passes() != (last == +1) {
			t.Fatalf("step %d: passes %v behind carrier %+d", i, g.passes(), last)
		}
		if on && !g.passes() {
			t.Fatalf("step %d: there is a carrier and nothing passes", i)
		}
		if g.passes() {
			passed++
		}
	}
	if passed == 0 || passed == 10_000 {
		t.Errorf("%d of 10,000 passed", passed)
	}
}
