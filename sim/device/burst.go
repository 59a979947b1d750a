package device

import (
	"bytes"
	"encoding/json"
	"slices"
	"time"

	"looptone/frame/payload"
	"looptone/frame/unit"
)

// BurstMessage is what the device publishes by itself, where it is on.
type BurstMessage struct {
	On             bool      `json:"on,omitempty"`
	Command        uint16    `json:"command"`
	Variables      []string  `json:"variables"`      // by their names
	Period         uint32    `json:"period"`         // in 1/32 ms
	MaximumPeriod  uint32    `json:"maximum_period"` // in 1/32 ms
	Trigger        uint8     `json:"trigger"`
	Classification uint8     `json:"classification"`
	Unit           unit.Code `json:"unit"`
	Level          float32   `json:"level"`
}

// BurstMessages are those that were written, by their numbers; nil stands for one
// that was not. In a record there may be a single message in the place of the
// list: number 0, as devices had it that had one.
type BurstMessages []*BurstMessage

// UnmarshalJSON reads both forms. Fields that it does not know are refused.
func (l *BurstMessages) UnmarshalJSON(text []byte) error {
	var list []*BurstMessage
	into := any(&list)
	if text[0] == '{' {
		list = make([]*BurstMessage, 1)
		into = &list[0]
	}
	known := json.NewDecoder(bytes.NewReader(text))
	known.DisallowUnknownFields()
	err := known.Decode(into)
	*l = list
	return err
}

// with is a copy of the list with b as message n.
func (l BurstMessages) with(n int, b *BurstMessage) BurstMessages {
	own := slices.Clone(l)
	if missing := n + 1 - len(own); missing > 0 {
		own = append(own, make(BurstMessages, missing)...)
	}
	own[n] = b
	return own
}

// usualBurst is the message of a device to which none was written: command 1 twice
// a second, and once a minute where nothing triggers it.
//
// Source: common practice.
var usualBurst = BurstMessage{Command: 1, Variables: []string{"process variable"},
	Period: 16000, MaximumPeriod: 60 * 32000, Unit: unit.NotUsed}

// burst is message n of the device, as m remembers it.
func (d *Device) burst(m *Memory, n int) BurstMessage {
	if n < len(m.Bursts) && m.Bursts[n] != nil {
		return *m.Bursts[n]
	}
	return d.cfg.factoryMessage(n)
}

// askedBurst is the message whose number is in the request, which was checked.
func (d *Device) askedBurst() int {
	if len(d.asked.data) == 0 {
		return 0
	}
	return int(d.asked.data[0])
}

// burstSlots is how many variables a message can carry.
func (d *Device) burstSlots() int {
	if d.cfg.Revision < 7 {
		return 4
	}
	return 8
}

// changeBurst lets change work on a copy of the message with the number in the
// request, which is message 0 where there is none.
func (d *Device) changeBurst(r *request, m *Memory, change func(b *BurstMessage) (code uint8)) (code uint8) {
	n := int(r.whole("burst message"))
	if n >= d.cfg.messages() {
		return invalidMessage
	}
	b := d.burst(m, n)
	code = change(&b)
	if payload.Executed(code) {
		m.Bursts = m.Bursts.with(n, &b)
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

// writeBurstTrigger wants a trigger that the message can have: a mode for which its
// command has a value, and a level in a unit of that value.
func (d *Device) writeBurstTrigger(r *request, m *Memory) (code uint8) {
	return d.changeBurst(r, m, func(b *BurstMessage) uint8 {
		mode := r.whole("burst trigger")
		if mode > changeTrigger {
			return invalidTrigger
		}
		level, ok := r.number("trigger level")
		b.Trigger, b.Classification = uint8(mode), uint8(r.whole("trigger classification"))
		b.Unit, b.Level = r.unitOf("trigger level"), float32(level)
		switch {
		case b.hasLevel() && b.Command == readStatus:
			return invalidTrigger
		case b.hasLevel() && !ok, d.conflicts(b):
			return invalidSelection
		}
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
		return d.conflictCode(b)
	})
}

// writeBurstCommand takes the commands that can be published.
func (d *Device) writeBurstCommand(r *request, m *Memory) (code uint8) {
	return d.changeBurst(r, m, func(b *BurstMessage) uint8 {
		n := r.whole("command number")
		if n > 0xff || !canPublish(uint16(n), d.cfg.Revision) {
			return invalidSelection
		}
		b.Command = uint16(n)
		return d.conflictCode(b)
	})
}

// conflictCode warns of a message whose trigger does not go with the rest of it.
func (d *Device) conflictCode(b *BurstMessage) (code uint8) {
	if d.conflicts(b) {
		return burstConflict
	}
	return success
}

// Burst control codes that this device takes. Those that ask for a time-slotted
// link, alone or beside the token-passing one, are refused: there is no such link,
// and nothing is done by half.
const (
	burstOff = 0
	burstOn  = 1
)

// controlBurst takes a message in or out of burst mode. From memory that a number
// that is not there is an invalid selection: code 9 tells of bandwidth here.
func (d *Device) controlBurst(r *request, m *Memory) (code uint8) {
	if r.data[0] > burstOn || int(r.whole("burst message")) >= d.cfg.messages() {
		return invalidSelection
	}
	return d.changeBurst(r, m, func(b *BurstMessage) uint8 {
		b.On = r.data[0] == burstOn
		return success
	})
}
