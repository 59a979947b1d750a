package device

import (
	"reflect"
	"strings"

	"looptone/sim"
)

// described are the settings that may have been written over the line, by their
// keys in a line file, and what forgets that.
var described = map[string]func(m *Memory){
	"polling":           func(m *Memory) { m.Polling, m.Borrowed = nil, nil },
	"loop_current_mode": func(m *Memory) { m.LoopCurrent = nil },
	"long_tag":          func(m *Memory) { m.LongTag = nil },
	"descriptor":        func(m *Memory) { m.Descriptor = nil },
	"message":           func(m *Memory) { m.Message = nil },
	"date":              func(m *Memory) { m.Date = nil },
	"reply_preambles":   func(m *Memory) { m.ReplyPreambles = nil },
	"range":             func(m *Memory) { m.Range = nil },
	"user_unit":         func(m *Memory) { m.UserUnit = nil },
	"damping_s":         func(m *Memory) { m.DampingS = nil },
	"transfer.power":    func(m *Memory) { m.Power = nil },
	"trim":              func(m *Memory) { m.Trim = nil },
	"burst":             func(m *Memory) { m.Bursts = nil },
}

// Forget has the description count again for a setting, as at the device's keypad,
// if something else was written over the line. Key is that of a line file, such as
// range.upper; what belongs together is forgotten together. An error is a
// [*setting.Error], and nothing has changed.
func (d *Device) Forget(now sim.Tick, key string) error {
	switch key {
	case "output", "output.source", "output.fixed_ma":
		return d.holdAsDescribed(now)
	}
	forget := func(m *Memory) {
		for of, forget := range described {
			if under(key, of) || under(of, key) {
				forget(m)
			}
		}
	}
	m := d.memory
	if forget(&m); reflect.DeepEqual(m, d.memory) {
		return nil
	}
	return d.keyIn(now, func(m *Memory) { forget(m); m.noteChange() }, nil)
}

// holdAsDescribed has the loop current be held as it is described, or follow, whatever a
// master did to it for a test.
func (d *Device) holdAsDescribed(now sim.Tick) error {
	held := describedMA(&d.cfg.Transmitter.Current)
	if d.heldMA == held {
		return nil
	}
	d.heldMA = held
	m := d.memory
	return d.adopt(now, &m)
}

// under reports whether key is that of a table, or of something in it.
func under(key, table string) bool {
	rest, ok := strings.CutPrefix(key, table)
	return ok && (rest == "" || rest[0] == '.' || rest[0] == '[')
}
