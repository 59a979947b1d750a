package device_test

import (
	"testing"

	"looptone/sim/device"
	"looptone/sim/transmitter"
)

// A setting that was written over the line is the described one again; the others
// stay, and the masters are told once.
func TestForget(t *testing.T) {
	damping, polling, message := 9.0, uint8(7), "WRITTEN"
	for _, tt := range []struct {
		key     string
		polling uint8
		damping float64
		upper   float64
		counted int
	}{
		{"damping_s", 7, 0, 80, 1},
		{"range.upper", 7, 9, 100, 1},
		{"range", 7, 9, 100, 1},
		{"polling", 0, 9, 80, 1},
		{"poll", 7, 9, 80, 0},
		{"transfer", 7, 9, 80, 0}, // nobody has written it
		{"process.value", 7, 9, 80, 0},
	} {
		c := config(7)
		c.Transmitter.DampingS = 0
		own := c.Transmitter.Range
		own.Upper = own.Lower + 0.8*(own.Upper-own.Lower)
		c.Memory = device.Memory{Polling: &polling, DampingS: &damping, Message: &message, Range: &transmitter.Scale{
			Lower: own.Lower, Upper: own.Upper, Unit: own.Unit}}
		b := newBench(t, c)
		d := b.devices[0]
		if err := d.Forget(b.line.Now(), tt.key); err != nil {
			t.Fatal(err)
		}
		got := d.Transmitter().Config()
		full := c.Transmitter.Range.Upper - c.Transmitter.Range.Lower
		if upper := 100 * (got.Range.Upper - got.Range.Lower) / full; d.Polling() != tt.polling || got.DampingS != tt.damping || upper != tt.upper {
			t.Errorf("%s: got polling address %d, damping %v s, %v %% of the range, want %d, %v and %v",
				tt.key, d.Polling(), got.DampingS, upper, tt.polling, tt.damping, tt.upper)
		}
		if n, _ := b.changes(); n != tt.counted {
			t.Errorf("%s: counter %d, want %d", tt.key, n, tt.counted)
		}
	}
}

// A current that a host let go, or holds at another value, is held as described again.
// That is a test, and no change of the configuration.
func TestForgetFixedCurrent(t *testing.T) {
	for _, tt := range []struct{ write, key string }{
		{"00000000", "output.fixed_ma"}, {"41200000", "output.fixed_ma"}, {"41200000", "output"}, {"00000000", "output.source"},
	} {
		c := config(7)
		c.Transmitter.Current.Mode, c.Transmitter.Current.HeldMA = transmitter.Fixed, 18
		b := newBench(t, c)
		d := b.devices[0]
		b.turns(7, []turn{{40, tt.write, 0, "="}})
		before := d.Transmitter().LoopCurrentMA()
		_ = d.Forget(b.line.Now(), "damping_s")
		if got := d.Transmitter().LoopCurrentMA(); got != before || got == 18 {
			t.Errorf("%s: got %v mA, want %v as before", tt.key, got, before)
		}
		if err := d.Forget(b.line.Now(), tt.key); err != nil {
			t.Fatal(err)
		}
		if got := d.Transmitter().LoopCurrentMA(); got != 18 {
			t.Errorf("%s: got %v mA, want 18", tt.key, got)
		}
		if n, _ := b.changes(); n != 0 {
			t.Errorf("%s: counter %d, want 0", tt.key, n)
		}
	}
	b := newBench(t, config(7)) // whose description holds none
	b.turns(7, []turn{{40, "41200000", 0, "="}})
	_ = b.devices[0].Forget(b.line.Now(), "output.source")
	if got := b.devices[0].Transmitter().LoopCurrentMA(); got != 12 {
		t.Errorf("got %v mA, want 12: it follows again", got)
	}
}
