package linefile

import (
	"slices"

	"looptone/frame/userfile"
	"looptone/sim/device"
)

// bursts reads what a device publishes by itself.
func bursts(t *userfile.Table) (list []device.Publication) {
	triggers := device.Triggers()
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
