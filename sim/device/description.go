package device

import (
	"cmp"
	"reflect"
	"slices"

	"looptone/sim/process"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// stay has c take over from before what no description says.
func (c *Config) stay(before *Config) {
	c.Trouble, c.Store, c.Memory = before.Trouble, before.Store, before.Memory
	c.Transmitter.Process.Seed = before.Transmitter.Process.Seed
}

// sameDevice refuses what would make another device of the one that before
// describes.
func (c *Config) sameDevice(before *Config) error {
	was, is := &before.Transmitter, &c.Transmitter
	grid := func(t *transmitter.Config) any { return cmp.Or(t.Grid, transmitter.DefaultGrid) }
	for _, s := range []struct {
		setting string
		was, is any
	}{
		{"revision", before.Revision, c.Revision},
		{"maker", before.Maker, c.Maker},
		{"device_type", before.Type, c.Type},
		{"device_id", before.DeviceID, c.DeviceID},
		{"device_revision", before.DeviceRevision, c.DeviceRevision},
		{"software_revision", before.SoftwareRevision, c.SoftwareRevision},
		{"hardware_revision", before.HardwareRevision, c.HardwareRevision},
		{"grid_ms", grid(was), grid(is)},
		{"sensor.unit", was.Sensor.Unit, is.Sensor.Unit},
		{"totaliser", presence(was.Totaliser), presence(is.Totaliser)},
		{"controller", presence(was.Controller), presence(is.Controller)},
	} {
		if s.was != s.is {
			return setting.Refuse(s.setting, s.is, "%v, as it is: that makes the device, and stays while the line runs", s.was)
		}
	}
	if !slices.Equal(was.Stages, is.Stages) {
		return setting.Refuse("stages", "others", "those that there are: they make the device, and stay while the line runs")
	}
	return nil
}

func presence[T any](p *T) string {
	if p == nil {
		return "none"
	}
	return "one"
}

// configures reports whether c differs from before in what is set in the device.
// The rest is what happens to it: its process, where its sensor is, what ails its
// converter, a current that is held for a test, how quick it is.
func (c *Config) configures(before *Config) bool {
	set := func(c Config) Config {
		t := &c.Transmitter
		t.Process = process.Config{}
		t.Sensor.LowSide, t.Sensor.AtC, t.Sensor.Temperature = 0, 0, transmitter.Temperature{}
		t.Current.Converter, t.Current.Mode, t.Current.HeldMA = transmitter.Converter{}, 0, 0
		c.Latency, c.Level, c.ClockPPM, c.WriteTime, c.StoreTime, c.SaveEvery = 0, 0, 0, 0, 0, 0
		c.Store, c.Trouble, c.Memory = nil, nil, Memory{}
		return c
	}
	return !reflect.DeepEqual(set(*c), set(*before))
}

// describe sets a transmitter anew by the description c, where it differs from
// before. A controller's manual value that is described as it was stays where it
// is now.
func (c *Config) describe(t *transmitter.Config, before *Config) {
	described := c.Transmitter
	if own, was := described.Controller, before.Transmitter.Controller; own != nil && own.Manual == was.Manual {
		now := *own
		now.Manual = t.Controller.Manual
		described.Controller = &now
	}
	*t = described
}
