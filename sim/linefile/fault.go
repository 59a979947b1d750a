package linefile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"looptone/sim"
	"looptone/sim/device"
)

// mostDelay is the longest delay of a late reply: ten times what a master waits.
const mostDelay = 330 // characters

// fault reads something that a device does wrong on purpose, and gives it to the
// device.
func (t *table) fault(devices []entry) {
	t.need("device", `"PT-101"`)
	t.need("kind", `"late reply"`)
	tag, ok := t.text("device")
	f := device.Fault{Probability: t.within("probability", 0, 1, 1)}
	i := slices.IndexFunc(devices, func(e entry) bool { return e.Tag == tag })
	if ok && i < 0 {
		t.refuse("device", fmt.Errorf("device %q is not on the line, want one of %s", tag, strings.Join(tags(devices), ", ")))
	}
	kind, ok := t.choice("kind", device.LateReply.String(), device.NoReply.String())
	switch kind {
	case device.LateReply.String():
		f.Kind = device.LateReply
		t.need("delay_chars", "30")
		f.Delay = sim.Tick(math.Round(t.aboveZero("delay_chars", mostDelay, 1) * float64(sim.Character)))
	case device.NoReply.String():
		f.Kind = device.NoReply
	}
	if ok {
		t.name += fmt.Sprintf(" of kind %q", kind)
	}
	if i >= 0 {
		devices[i].Faults = append(devices[i].Faults, f)
	}
}

func tags(devices []entry) []string {
	list := make([]string, len(devices))
	for i := range devices {
		list[i] = devices[i].Tag
	}
	return list
}
