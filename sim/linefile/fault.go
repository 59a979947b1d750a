package linefile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/device"
)

// mostDelay is the longest delay of a late reply: ten times what a master waits.
const mostDelay = 330 // characters

// readFault reads something that a device does wrong on purpose, and gives it to the
// device.
func readFault(t *userfile.Table, devices []entry) {
	t.Need("device", `"PT-101"`)
	t.Need("kind", `"late reply"`)
	tag, ok := t.Text("device")
	f := device.Fault{Probability: t.Within("probability", 0, 1, 1)}
	i := slices.IndexFunc(devices, func(e entry) bool { return e.Tag == tag })
	if ok && i < 0 {
		t.Refuse("device", fmt.Errorf("device %q is not on the line, want one of %s", tag, strings.Join(tags(devices), ", ")))
	}
	kind, ok := t.Choice("kind", device.LateReply.String(), device.NoReply.String())
	switch kind {
	case device.LateReply.String():
		f.Kind = device.LateReply
		t.Need("delay_chars", "30")
		f.Delay = sim.Tick(math.Round(t.AboveZero("delay_chars", mostDelay, 1) * float64(sim.Character)))
	case device.NoReply.String():
		f.Kind = device.NoReply
	}
	if ok {
		t.Name += fmt.Sprintf(" of kind %q", kind)
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
