package linefile

import (
	_ "embed"
	"errors"
	"fmt"
	"time"

	"looptone/sim/device"
	"looptone/sim/transmitter"
)

// mostDevices is how many a line may have: one for every polling address.
const mostDevices = 64

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
	doc, err := newDocument(file, text)
	if err != nil {
		return nil, err
	}
	d := &Description{}
	top := &table{doc: doc, name: "the top level of the file", values: doc.values}
	if len(doc.values) == 0 {
		return nil, doc.refuse(0, errors.New("the file is empty, want a [line] with its name and a [[device]] for each device"))
	}
	d.read(top)
	if err := top.end(); err != nil {
		return nil, err
	}
	return d, nil
}

func (d *Description) read(t *table) {
	grid := transmitter.DefaultGrid
	t.need("line", `{ name = "Quillmere" }`)
	t.sub("line", func(t *table) { grid = d.line(t) })
	var devices []entry
	t.each("device", func(i int, t *table) {
		devices = append(devices, t.device(i, grid))
		if i == mostDevices {
			t.refuse("", fmt.Errorf("this is device %d, want at most %d on a line", i+1, mostDevices))
		}
		if t.wrong == nil && t.missing == nil {
			t.alone(devices)
		}
	})
	t.each("fault", func(_ int, t *table) { t.fault(devices) })
	if len(devices) == 0 && t.wrong == nil && t.missing == nil {
		t.missing = t.doc.refuse(t.where("line"), errors.New("the line has no device, want at least one [[device]]"))
	}
	for i := range devices {
		d.Devices = append(d.Devices, devices[i].Config)
	}
}

// line reads what the devices share; the grid is each transmitter's.
//
// Source: common practice (a supply of 24 V, a resistor of 250 ohm).
func (d *Description) line(t *table) (grid time.Duration) {
	t.need("name", `"Quillmere"`)
	d.Name, _ = t.text("name")
	d.SupplyV = t.aboveZero("supply_v", 1000, 24)
	d.ResistorOhm = t.aboveZero("resistor_ohm", 1e6, 250)
	d.Seed = uint64(t.whole("seed", 0, 1<<63-1, 1))
	least, most, usual := transmitter.ShortestGrid, transmitter.LongestGrid, transmitter.DefaultGrid
	ms := t.within("grid_ms", milliseconds(least), milliseconds(most), milliseconds(usual))
	return time.Duration(ms * float64(time.Millisecond))
}

func milliseconds(d time.Duration) float64 { return float64(d) / float64(time.Millisecond) }

// alone refuses the last of the devices where it takes what belongs to one before.
func (t *table) alone(devices []entry) {
	last := &devices[len(devices)-1]
	for i := range devices[:len(devices)-1] {
		other := &devices[i]
		who := fmt.Sprintf("%q (line %d)", other.Tag, t.doc.line(other.path))
		switch {
		case last.Tag == other.Tag && last.Tag != "":
			t.refuse("tag", fmt.Errorf("tag %q is given twice, first in line %d: want one of its own for each device",
				last.Tag, t.doc.line(other.path+".tag")))
		case last.Unique() == other.Unique():
			t.refuse("device_id", fmt.Errorf("device_id %d makes the same unique address, %v, as %s has: want another one",
				last.DeviceID, last.Unique(), who))
		case last.Polling == other.Polling && !last.shares && !other.shares:
			t.refuse("polling", fmt.Errorf("polling address %d is that of %s: want another one, or allow_duplicate = true",
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
