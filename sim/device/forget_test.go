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
