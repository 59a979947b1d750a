package linefile_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/loop"
)

// Who is lit on the running line is who is lit when the loop is settled.
func TestRunningLineIsSettled(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 10).Draw(rt, "devices")
		text := fmt.Sprintf("[line]\nname = \"R\"\nsupply_v = 24\nresistor_ohm = %d\n", rapid.IntRange(0, 600).Draw(rt, "resistor"))
		cables := rapid.IntRange(0, 5).Draw(rt, "cables")
		for i := range cables {
			behind := ""
			if i > 0 {
				behind = fmt.Sprint("c", rapid.IntRange(0, i-1).Draw(rt, "behind"))
			}
			text += fmt.Sprintf("[[line.cable]]\nname = \"c%d\"\nbehind = %q\nlength_m = %d\nohm_per_km = 36\nnf_per_km = 100\n",
				i, behind, rapid.IntRange(0, 2000).Draw(rt, "length"))
		}
		for i := range n {
			keys := fmt.Sprintf("reversed = %v\n", rapid.IntRange(0, 9).Draw(rt, "reversed") == 0)
			if lift := rapid.IntRange(0, 24).Draw(rt, "lift-off"); lift > 0 {
				keys += fmt.Sprintf("lift_off_v = %d\n", lift)
			}
			if cables > 0 {
				keys += fmt.Sprintf("behind = \"c%d\"\n", rapid.IntRange(0, cables-1).Draw(rt, "at"))
			}
			keys += fmt.Sprintf("[device.output]\nsource = \"fixed\"\nfixed_ma = %d\n", rapid.IntRange(3, 22).Draw(rt, "current"))
			text += strings.Replace(deviceText(i+1, keys), `"fixed"`, `"modulated"`, 1)
		}
		d, err := linefile.Parse("random.toml", []byte(text), nil)
		if err != nil {
			rt.Fatal(err)
		}
		a, err := d.Assemble(nil, nil)
		if err != nil {
			rt.Fatal(err)
		}
		supply := 24.0
		for turn := range 3 {
			a.Line.Run(sim.Tick(turn+1) * sim.Second)
			want := make([]float64, n)
			for i := range want {
				want[i] = a.Devices[i].Transmitter().WantMA()
			}
			l := d.Loop()
			l.Supply.V = supply
			s := l.Settle(want)
			for i := range s.Devices {
				carries := a.Devices[i].Transmitter().WireCurrentMA()
				if lit := s.Devices[i].Dark == loop.Lit; carries != s.Devices[i].MA || lit != (carries > 0) {
					rt.Fatalf("turn %d, T-%d: it draws %v mA, want %v mA, %v", turn, i+1, carries, s.Devices[i].MA, s.Devices[i].Dark)
				}
			}
			supply = float64(rapid.IntRange(1, 40).Draw(rt, "supply"))
			x, err := d.ReadAction("control", 1, fmt.Appendf(nil, `{"set": "line.supply_v", "to": %g}`, supply))
			if err != nil {
				rt.Fatal(err)
			}
			if _, err := a.Do(x); err != nil {
				rt.Fatal(err)
			}
		}
	})
}
