package linefile

import (
	_ "embed"
	"errors"
	"fmt"
	"time"

	"looptone/frame/userfile"
	"looptone/sim/device"
	"looptone/sim/transmitter"
)

// mostDevices is how many a line may have: one for every polling address.
const mostDevices = 64

// An Error refuses a line description; the place is that in the file.
type Error = userfile.Error

// A Description is a line and what is on it.
type Description struct {
	Name        string
	SupplyV     float64
	ResistorOhm float64
	Seed        uint64
	Devices     []device.Config // in the order of the file; their seeds come from Seed when the line is assembled
}

// Parse reads a line description. An error is an [*Error]; file is what it calls
// the text.
func Parse(file string, text []byte) (*Description, error) {
	top, err := userfile.Parse(file, text, "line", "device", "fault")
	if err != nil {
		return nil, err
	}
	if len(top.Keys()) == 0 {
		top.Refuse("", errors.New("the file is empty, want a [line] with its name and a [[device]] for each device"))
	}
	d := &Description{}
	d.read(top)
	if err := top.End(); err != nil {
		return nil, err
	}
	return d, nil
}

func (d *Description) read(t *userfile.Table) {
	grid := transmitter.DefaultGrid
	t.Need("line", `{ name = "Quillmere" }`)
	t.Sub("line", func(t *userfile.Table) { grid = d.line(t) })
	var devices []entry
	t.Each("device", func(t *userfile.Table) {
		devices = append(devices, entryOf(t, len(devices), grid))
		if len(devices) == mostDevices+1 {
			t.Refuse("", fmt.Errorf("this is device %d, want at most %d on a line", len(devices), mostDevices))
		}
		if t.Sound() {
			alone(t, devices)
		}
	})
	t.Each("fault", func(t *userfile.Table) { fault(t, devices) })
	if len(devices) == 0 && t.Sound() {
		t.Refuse("line", errors.New("the line has no device, want at least one [[device]]"))
	}
	for i := range devices {
		d.Devices = append(d.Devices, devices[i].Config)
	}
}

// line reads what the devices share; the grid is each transmitter's.
//
// Source: common practice (a supply of 24 V, a resistor of 250 ohm).
func (d *Description) line(t *userfile.Table) (grid time.Duration) {
	t.Need("name", `"Quillmere"`)
	d.Name, _ = t.Text("name")
	d.SupplyV = t.AboveZero("supply_v", 1000, 24)
	d.ResistorOhm = t.AboveZero("resistor_ohm", 1e6, 250)
	d.Seed = uint64(t.Whole("seed", 0, 1<<63-1, 1))
	least, most, usual := transmitter.ShortestGrid, transmitter.LongestGrid, transmitter.DefaultGrid
	ms := t.Within("grid_ms", milliseconds(least), milliseconds(most), milliseconds(usual))
	return time.Duration(ms * float64(time.Millisecond))
}

func milliseconds(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// alone refuses the last of the devices where it takes what belongs to one before.
func alone(t *userfile.Table, devices []entry) {
	last := &devices[len(devices)-1]
	for i := range devices[:len(devices)-1] {
		other := &devices[i]
		who := fmt.Sprintf("%q (line %d)", other.Tag, other.table.Line(""))
		switch {
		case last.Tag == other.Tag && last.Tag != "":
			t.Refuse("tag", fmt.Errorf("tag %q is given twice, first in line %d: want one of its own for each device",
				last.Tag, other.table.Line("tag")))
		case last.Unique() == other.Unique():
			t.Refuse("device_id", fmt.Errorf("device_id %d makes the same unique address, %v, as %s has: want another one",
				last.DeviceID, last.Unique(), who))
		case last.Polling == other.Polling && !last.shares && !other.shares:
			t.Refuse("polling", fmt.Errorf("polling address %d is that of %s: want another one, or allow_duplicate = true",
				last.Polling, who))
		}
	}
}

//go:embed quillmere.toml
var quillmere []byte

// Demonstration is the built-in line: Quillmere, an invented small water works.
func Demonstration() *Description {
	d, err := Parse("quillmere.toml", quillmere)
	if err != nil {
		panic(err) // a test reads it too
	}
	return d
}
