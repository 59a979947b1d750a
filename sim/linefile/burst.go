package linefile

import (
	"slices"

	"looptone/frame/userfile"
	"looptone/sim/device"
)

// triggers are what makes a burst message go out at its period, by their code.
//
// Source: Biffi ICON3000 HART manual MDE 254 printed p.44 table 133 (codes); the
// names are our own.
var triggers = []string{"continuous", "window", "rising", "falling", "on change"}

// bursts reads what a device publishes by itself.
func bursts(t *userfile.Table) (list []device.Publication) {
	t.Each("burst", func(t *userfile.Table) {
		t.Need("command", "3")
		p := device.Publication{Command: uint16(t.Whole("command", 0, 0xffff, 0))}
		p.Every, _ = span(t, "every")
		p.MaximumPeriod, _ = span(t, "maximum")
		if trigger, ok := t.Choice("trigger", triggers...); ok {
			p.Trigger = uint8(slices.Index(triggers, trigger))
		}
		p.Level = float32(t.Number("level", 0))
		list = append(list, p)
	})
	return list
}
