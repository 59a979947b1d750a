package linefile

import (
	"slices"
	"strconv"

	"looptone/frame/unit"
	"looptone/frame/userfile"
)

// A kind is what a device is for. It decides what its sensor measures and what is
// usual for such a device.
type kind struct {
	name       string
	quantity   unit.Quantity // of the sensor's unit
	power      float64       // exponent of the transfer function
	deviceType uint16        // low byte of the type code
}

// kinds are those that a description may name. Flow and level are measured by
// pressure: of flow over an orifice plate, which goes with the root of the
// differential pressure, and of the liquid above the sensor.
//
// Source: common practice; the type codes are our own.
var kinds = []kind{
	{"differential", unit.Pressure, 1, 5},
	{gauge, unit.Pressure, 1, 1},
	{absolute, unit.Pressure, 1, 6},
	{"level", unit.Pressure, 1, 2},
	{"flow", unit.Pressure, 0.5, 3},
	{"temperature", unit.Temperature, 1, 4},
}

// gauge is the kind that measures against the air around. Old descriptions call it
// pressure.
const (
	gauge    = "gauge"
	oldGauge = "pressure"
)

// absolute is the kind that measures against a vacuum.
const absolute = "absolute"

// kindOf reads which kind a device is; ok is false where that was refused.
func kindOf(t *userfile.Table) (k kind, ok bool) {
	names := make([]string, len(kinds))
	for i := range kinds {
		names[i] = kinds[i].name
	}
	t.Need("kind", strconv.Quote(gauge))
	name := gauge
	if v, _ := t.Ask("kind"); v != oldGauge {
		if name, ok = t.Choice("kind", names...); !ok {
			return kind{}, false
		}
	}
	return kinds[slices.Index(names, name)], true
}
