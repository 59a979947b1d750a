package linefile_test

import (
	"math"
	"testing"

	"looptone/sim"
)

// What the devices draw goes through the resistor: each is parked at 4 mA, and those that
// are dark draw nothing.
//
// Source: Kirchhoff's current law; Siemens Pointek CLS500 7ML19985GG03 p.30 (parked at
// 4 mA).
func TestLoopCurrentThroughTheResistor(t *testing.T) {
	for _, c := range []struct {
		line, more string
		devices    int
		ohm, mA    float64
	}{
		{"", "", 3, 250, 12},
		{"resistor_ohm = 500", "", 3, 500, 12},
		{"supply_v = 24.0\nresistor_ohm = 250", "lift_off_v = 10.5", 15, 250, 13 * 4}, // as in TestMultidropTrap
		{"", "reversed = true", 2, 250, 0},
	} {
		a := assemble(t, parse(t, crowd(c.line, c.devices, c.more)), nil)
		for _, at := range []sim.Tick{0, 2 * sim.Second} {
			a.Line.Run(at)
			if ohm, mA := a.ResistorOhm(), a.LoopMA(); ohm != c.ohm || math.Abs(mA-c.mA) > 1e-9 {
				t.Errorf("%q, %d devices %q, at %v: got %g ohm, %g mA, want %g ohm, %g mA", c.line, c.devices, c.more, at.Duration(), ohm, mA, c.ohm, c.mA)
			}
		}
	}
}

// A device that a fault takes off the wires draws nothing.
func TestLoopCurrentOfWhoIsCutOff(t *testing.T) {
	for _, line := range []string{"", "supply_v = 24.0"} {
		a := assemble(t, parse(t, crowd(line, 3, "")+"[[fault]]\nkind = \"line cut\"\nbehind = \"T-1\"\nfrom = \"1s\"\n"), nil)
		for _, want := range []float64{12, 4} {
			if got := a.LoopMA(); math.Abs(got-want) > 1e-9 {
				t.Errorf("%q, at %v: got %g mA, want %g mA", line, a.Line.Now().Duration(), got, want)
			}
			a.Line.Run(2 * sim.Second)
		}
	}
}

// 0.5 V across 250 ohm are 2 mA, which make 1 V across 500 ohm, wherever the host is
// clipped on; a host that is across the resistor makes there what it makes.
//
// Source: Ohm's law.
func TestTonesAcrossTheResistor(t *testing.T) {
	for _, c := range []struct {
		line               string
		level              float32
		device, host, hiss float64
	}{
		{"", 0, 0.5, 0.5, 0.5},
		{"", 0.25, 0.25, 0.25, 0.25},
		{"resistor_ohm = 500", 0, 1, 0.7 * 500 / 600, 0.5},
		{"resistor_ohm = 500\nhost_ohm = 0", 0.25, 0.5, 0.25, 0.25},
		{"host_at = \"supply\"\nsupply_ohm = 0", 0, 0.5, 0, 0.5},
	} {
		a := assemble(t, parse(t, crowd(c.line, 2, "")), nil)
		host := a.Line.Join(nobody{})
		hiss := a.Line.Join(nobody{})
		hiss.Name = "noise"
		for _, is := range []struct {
			who  *sim.Seat
			want float64
		}{{a.Seats[1], c.device}, {host, c.host}, {hiss, c.hiss}} {
			if got := a.ResistorV(is.who, &sim.Burst{Level: c.level}); math.Abs(got-is.want) > 1e-5 {
				t.Errorf("%q: %q with level %g makes %g V, want %g V", c.line, is.who.Name, c.level, got, is.want)
			}
		}
	}
}

// nobody is a station that says nothing.
type nobody struct{}

func (nobody) Step(sim.Tick, []sim.Heard) (*sim.Burst, sim.Tick) { return nil, sim.Never }

// Who has a clock that is wrong talks by it.
func TestClocksThatAreWrong(t *testing.T) {
	d := parse(t, crowd("", 1, "clock_ppm = 500")+deviceText(2, "")+"[[master]]\nkind = \"primary\"\nclock_ppm = -10000\n")
	a := assemble(t, d, nil)
	defer a.Close()
	talked := map[string]int32{}
	a.Line.Log(func(s *sim.Seat, b *sim.Burst) { talked[s.Name] = b.PPM })
	a.Line.Run(10 * sim.Second)
	for name, want := range map[string]int32{"T-1": 500, "T-2": 0, "primary master": -10000} {
		if got, ok := talked[name]; !ok || got != want {
			t.Errorf("%s talked %v, with a clock %d ppm wrong, want %d", name, ok, got, want)
		}
	}
	did(t, d, a, `{"set": "T-2.clock_ppm", "to": -300}`, "clock_ppm of T-2 is -300 from now on")
	a.Line.Run(20 * sim.Second)
	if talked["T-2"] != -300 {
		t.Errorf("T-2's clock is %d ppm wrong, want -300", talked["T-2"])
	}
}
