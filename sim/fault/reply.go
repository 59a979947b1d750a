package fault

import (
	"looptone/sim"
	"looptone/sim/device"
)

func delayReply(_ *Set, f *active, _ sim.Tick, t *device.Trouble) {
	f.struck++
	t.Delay += f.ticks("delay_chars", sim.Character)
}

func swallowReply(_ *Set, f *active, _ sim.Tick, t *device.Trouble) {
	f.struck++
	t.Silent = true
}

func pretendBusy(_ *Set, f *active, _ sim.Tick, t *device.Trouble) {
	f.struck++
	t.Busy = true
}

func delayWrite(_ *Set, f *active, _ sim.Tick, t *device.Trouble) {
	f.struck++
	t.WriteTime = max(t.WriteTime, f.ticks("write_ms", sim.Millisecond))
}
