package device

import (
	"time"

	"looptone/frame/payload"
	"looptone/frame/unit"
	"looptone/sim"
)

// BurstMessage is what the device would publish by itself.
type BurstMessage struct {
	Command        uint16    `json:"command"`
	Variables      []string  `json:"variables"`      // by their names
	Period         uint32    `json:"period"`         // in 1/32 ms
	MaximumPeriod  uint32    `json:"maximum_period"` // in 1/32 ms
	Trigger        uint8     `json:"trigger"`
	Classification uint8     `json:"classification"`
	Unit           unit.Code `json:"unit"`
	Level          float32   `json:"level"`
}

// usualBurst is the message of a device to which none was written: command 1 twice
// a second, and once a minute where nothing triggers it.
//
// Source: common practice.
var usualBurst = BurstMessage{Command: 1, Variables: []string{"process variable"},
	Period: 16000, MaximumPeriod: 60 * 32000, Unit: unit.NotUsed}

func (d *Device) burst() BurstMessage { return written(d.memory.Burst, usualBurst) }

// burstSlots is how many variables a message can carry.
func (d *Device) burstSlots() int {
	if d.cfg.Revision < 7 {
		return 4
	}
	return 8
}

// changeBurst lets change work on a copy of the message with the number in the
// request; the device has one, number 0.
func (d *Device) changeBurst(r *request, m *Memory, change func(b *BurstMessage) (code uint8)) (code uint8) {
	if v := r.value("burst message"); v != nil && r.whole("burst message") != 0 {
		return invalidMessage
	}
	b := written(m.Burst, usualBurst)
	code = change(&b)
	if payload.Executed(code) {
		m.Burst = &b
	}
	return code
}

// updatePeriod is the next longer period that the device can keep, up to an hour.
//
// Source: Flowserve LMENIM2340-00 p.34 (0.5 s to 32 s in steps, then 60 s to
// 3600 s; others are adjusted).
func updatePeriod(count uint32) (adjusted uint32) {
	const second = uint32(32000)
	for s := second / 2; s <= 32*second; s *= 2 {
		if count <= s {
			return s
		}
	}
	return min(max(count, 60*second), 3600*second)
}

func (d *Device) writeBurstPeriod(r *request, m *Memory) (code uint8) {
	return d.changeBurst(r, m, func(b *BurstMessage) uint8 {
		period, most := count(r, "update period"), count(r, "maximum update period")
		b.Period = updatePeriod(period)
		b.MaximumPeriod = max(updatePeriod(most), b.Period)
		if b.Period == period && b.MaximumPeriod == most {
			return success
		}
		r.data = appendCounts(r.data[:1], b.Period, b.MaximumPeriod)
		return setToNearest
	})
}

// count is a time of the request in 1/32 ms.
func count(r *request, name string) uint32 {
	s, _ := r.number(name)
	n, _ := payload.Count(time.Duration(s * float64(time.Second)))
	return n
}

func appendCounts(dst []byte, counts ...uint32) []byte {
	for _, n := range counts {
		dst = append(dst, byte(n>>24), byte(n>>16), byte(n>>8), byte(n))
	}
	return dst
}

// lastTrigger is the highest burst trigger mode.
//
// Source: Biffi ICON3000 HART manual MDE 254 printed p.44 table 133.
const lastTrigger = 4

func (d *Device) writeBurstTrigger(r *request, m *Memory) (code uint8) {
	return d.changeBurst(r, m, func(b *BurstMessage) uint8 {
		mode := r.whole("burst trigger")
		if mode > lastTrigger {
			return invalidTrigger
		}
		level, _ := r.number("trigger level")
		b.Trigger, b.Classification = uint8(mode), uint8(r.whole("trigger classification"))
		b.Unit, b.Level = r.unitOf("trigger level"), float32(level)
		return success
	})
}

func (d *Device) writeBurstVariables(r *request, m *Memory) (code uint8) {
	slots := d.burstSlots()
	for _, code := range r.data[:slots] {
		if !d.hasVariable(code) && code != notUsed {
			return invalidSelection
		}
	}
	return d.changeBurst(r, m, func(b *BurstMessage) uint8 {
		b.Variables = d.namesOf(r.data[:slots])
		return success
	})
}

// writeBurstCommand takes the commands that can be published.
//
// Source: Yokogawa ADMAG AXR IM 01E30D01-01EN p.9-6 (1, 2, 3, 9, 48); Yokogawa
// digitalYEWFLO IM 01F06A00-01EN p.9-4 (33).
func (d *Device) writeBurstCommand(r *request, m *Memory) (code uint8) {
	return d.changeBurst(r, m, func(b *BurstMessage) uint8 {
		switch n := uint16(r.whole("command number")); n {
		case 1, 2, 3, 9, 33, 48:
			b.Command = n
			return success
		}
		return invalidSelection
	})
}

// controlBurst takes burst mode off, where it is. This device cannot publish.
func (d *Device) controlBurst(r *request, m *Memory) (code uint8) {
	return d.changeBurst(r, m, func(*BurstMessage) uint8 {
		if r.data[0] != 0 {
			return invalidSelection
		}
		return success
	})
}

// A Publication is a burst message as a device leaves the factory.
type Publication struct {
	Command       uint16
	Every         sim.Tick // update period
	MaximumPeriod sim.Tick // 0: the usual one
	Trigger       uint8    // burst trigger mode, 0 continuous
	Level         float32  // of the trigger
}
