package device

import (
	"maps"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// Memory is what was written to a device over the line, and what it has added up.
// What is nil was never written: there the factory's value counts. As JSON it is
// the record of a state file. What a pointer leads to is never changed.
type Memory struct {
	KnownAs string `json:"known_as,omitempty"` // its tag when this was kept, for whoever lists what is kept

	Polling        *uint8  `json:"polling,omitempty"`
	LoopCurrent    *bool   `json:"loop_current,omitempty"` // loop current mode: enabled
	Tag            *string `json:"tag,omitempty"`
	LongTag        *string `json:"long_tag,omitempty"`
	Descriptor     *string `json:"descriptor,omitempty"`
	Message        *string `json:"message,omitempty"`
	Date           *string `json:"date,omitempty"` // yyyy-mm-dd
	FinalAssembly  *uint32 `json:"final_assembly,omitempty"`
	SerialNumber   *uint32 `json:"serial_number,omitempty"` // of the transducer
	ReplyPreambles *uint8  `json:"reply_preambles,omitempty"`

	Changes          uint16 `json:"changes,omitempty"`           // configuration change counter
	ChangedSecondary bool   `json:"changed_secondary,omitempty"` // configuration changed, for the secondary master
	ChangedPrimary   bool   `json:"changed_primary,omitempty"`

	Range       *transmitter.Scale `json:"range,omitempty"`
	UserUnit    *transmitter.Scale `json:"user_unit,omitempty"`
	DampingS    *float64           `json:"damping_s,omitempty"`
	Power       *float64           `json:"power,omitempty"` // of the transfer function
	Trim        *SensorTrim        `json:"trim,omitempty"`
	CurrentTrim *transmitter.Trim  `json:"current_trim,omitempty"`

	Assignments []string             `json:"assignments,omitempty"` // the device variables that are the dynamic ones, by their names
	Units       map[string]unit.Code `json:"units,omitempty"`       // of device variables but the primary one, by their names
	Bursts      BurstMessages        `json:"burst,omitempty"`

	Totals *Totals `json:"totals,omitempty"`

	Borrowed *uint8 `json:"-"` // polling address that counts in place of its own, and is not kept
}

// SensorTrim is a trim, and the sensor's unit in which its offset is.
type SensorTrim struct {
	transmitter.Trim
	Unit unit.Code `json:"unit"`
}

// Totals are what was added up, and the unit that they are in.
type Totals struct {
	transmitter.Totals
	Unit unit.Code `json:"unit"`
}

// written is what was written, or without that the factory's value.
func written[T any](own *T, factory T) T {
	if own != nil {
		return *own
	}
	return factory
}

func (d *Device) pollingIn(m *Memory) uint8 {
	return written(m.Borrowed, written(m.Polling, d.cfg.Polling))
}

func (d *Device) tag() string       { return written(d.memory.Tag, d.cfg.Tag) }
func (d *Device) longTag() string   { return written(d.memory.LongTag, d.cfg.LongTag) }
func (d *Device) loopCurrent() bool { return written(d.memory.LoopCurrent, d.cfg.LoopCurrent) }
func (d *Device) serial() uint32    { return written(d.memory.SerialNumber, d.cfg.DeviceID) }
func (d *Device) replyPreambles() int {
	return int(written(d.memory.ReplyPreambles, d.cfg.ReplyPreambles))
}

// withUnit remembers the unit of a device variable.
func (m *Memory) withUnit(variable string, u unit.Code) {
	m.Units = maps.Clone(m.Units)
	if m.Units == nil {
		m.Units = map[string]unit.Code{}
	}
	m.Units[variable] = u
}

// check refuses what does not go with a transmitter.
func (m *Memory) check(c *transmitter.Config) error {
	if m.Trim != nil {
		if _, err := m.Trim.in(c.Sensor.Unit); err != nil {
			return setting.Refuse("sensor.unit", c.Sensor.Unit, "a unit that %v, in which it was trimmed, converts to", m.Trim.Unit)
		}
	}
	if m.Totals != nil && c.Totaliser != nil {
		if _, err := m.Totals.in(c.Totaliser.Unit); err != nil {
			return setting.Refuse("totaliser.unit", c.Totaliser.Unit, "a unit that %v, in which there are totals, converts to", m.Totals.Unit)
		}
	}
	return nil
}

// in is the trim for a sensor in another unit; the error is that of
// [unit.Convert].
func (t SensorTrim) in(u unit.Code) (transmitter.Trim, error) {
	offset, err := unit.Convert(t.Offset, t.Unit, u)
	if err != nil {
		return transmitter.Trim{}, err
	}
	zero, _ := unit.Convert(0, t.Unit, u) // as the offset was
	return transmitter.Trim{Gain: t.Gain, Offset: offset - t.Gain*zero}, nil
}

// in are the totals in another unit.
func (t Totals) in(u unit.Code) (transmitter.Totals, error) {
	net, err := unit.Convert(t.Net, t.Unit, u)
	if err != nil {
		return transmitter.Totals{}, err
	}
	forward, _ := unit.Convert(t.Forward, t.Unit, u) // as net was
	return transmitter.Totals{Net: net, Forward: forward}, nil
}

// configure puts what is remembered in m in the place of the factory's settings,
// and parks the current or lets it follow.
func (d *Device) configure(c *transmitter.Config, m *Memory) {
	factory := &d.cfg.Transmitter
	c.Range = written(m.Range, factory.Range)
	if factory.UserUnit != nil {
		u := written(m.UserUnit, *factory.UserUnit)
		c.UserUnit = &u
	}
	c.DampingS = written(m.DampingS, factory.DampingS)
	c.Transfer.Power = written(m.Power, factory.Transfer.Power)
	c.Trim = factory.Trim
	if m.Trim != nil {
		c.Trim, _ = m.Trim.in(c.Sensor.Unit) // New has tried it
	}
	c.Current.Trim = written(m.CurrentTrim, factory.Current.Trim)
	// A narrow range is accepted with a warning; only a description is refused.
	c.Sensor.MinimumSpan = 0
	d.setMode(&c.Current, m)
}

// adopt makes m what the device remembers, unless its transmitter refuses.
func (d *Device) adopt(now sim.Tick, m *Memory) error { return d.adoptAs(now, m, nil) }

// adoptAs is adopt, and where before is not nil the description that counted until
// now is that, and the device's own is new.
func (d *Device) adoptAs(now sim.Tick, m *Memory, before *Config) error {
	err := d.transmitter.Set(now, func(c *transmitter.Config) {
		if before != nil {
			d.cfg.describe(c, before)
		}
		d.configure(c, m)
	})
	if err != nil {
		return err
	}
	d.memory = *m
	d.updateBurstMode()
	return nil
}

// remembered is what the device remembers, with the totals of this moment.
func (d *Device) remembered() Memory {
	m := d.memory
	m.KnownAs, m.Borrowed = d.tag(), nil
	if d.cfg.Transmitter.Totaliser != nil {
		m.Totals = &Totals{d.transmitter.Totals(), d.cfg.Transmitter.Totaliser.Unit}
	}
	return m
}
