package linefile

import (
	"cmp"
	_ "embed"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/fault"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// mostDevices is how many a line may have: one for every polling address.
const mostDevices = 64

// usualStore is how long a write takes where a description does not say.
const usualStore = 5 // ms

// An Error refuses a line description; the place is that in the file.
type Error = userfile.Error

// A Description is a line and what is on it.
type Description struct {
	Name    string
	Seed    uint64
	Devices []device.Config // in the order of the file; their seeds come from Seed when the line is assembled

	// Vessels are the vessels that the tables of devices were made for, by tag.
	Vessels map[string]process.Shape

	// Valves are the devices whose loop current opens the valve of another device's
	// process, or of their own: 4 mA closed, 20 mA open. Tags by the tag of the device
	// that measures the process; a valve that is not in it is open.
	Valves map[string]string

	Faults  []fault.Fault // that are there from the beginning, all with names
	Masters []Master      // that are simulated; the primary one first
	Actions []*Action     // by their times

	plan plan
}

// A Read gives the text of a file that a description names.
type Read func(name string) ([]byte, error)

// Parse reads a line description. An error is an [*Error]; file is what it calls
// the text. read is for the files that the description names; without it, naming
// one is refused.
func Parse(file string, text []byte, read Read) (*Description, error) {
	top, err := userfile.Parse(file, text, "line", "device", "master", "fault", "at")
	if err != nil {
		return nil, err
	}
	if len(top.Keys()) == 0 {
		top.Refuse("", errors.New("the file is empty, want a [line] with its name and a [[device]] for each device"))
	}
	d := &Description{}
	d.read(top, read)
	if err := top.End(); err != nil {
		return nil, err
	}
	return d, nil
}

// A ground is what all devices of a line stand on.
type ground struct {
	grid  time.Duration // on which transmitters compute
	store sim.Tick      // that a write takes
	read  Read
}

func (d *Description) read(t *userfile.Table, read Read) {
	on := &ground{read: read}
	t.Need("line", `{ name = "Quillmere" }`)
	var w wiring
	t.Sub("line", func(t *userfile.Table) { w = d.line(t, on) })
	var devices []entry
	t.Each("device", func(t *userfile.Table) {
		devices = append(devices, entryOf(t, len(devices), on))
		if len(devices) == mostDevices+1 {
			t.Refuse("", fmt.Errorf("this is device %d, want at most %d on a line", len(devices), mostDevices))
		}
		if t.Sound() {
			alone(t, devices)
		}
	})
	valves(t, devices)
	d.Vessels, d.Valves = map[string]process.Shape{}, map[string]string{}
	for i := range devices {
		d.Devices = append(d.Devices, devices[i].Config)
		if vessel := devices[i].vessel; vessel != nil {
			d.Vessels[devices[i].Tag] = *vessel
		}
		if valve := devices[i].valve; valve != "" {
			d.Valves[devices[i].Tag] = valve
		}
	}
	d.plan = plan{on: on, wiring: w, devices: devices, order: tags(devices)}
	d.checkWires(t)
	d.readEvents(t)
	if len(devices) == 0 && t.Sound() {
		t.Refuse("line", errors.New("the line has no device, want at least one [[device]]"))
	}
}

// readEvents reads what happens on the line with its devices.
func (d *Description) readEvents(t *userfile.Table) {
	lines := map[bool]int{} // of the masters, by whether they are the primary one
	t.Each("master", func(t *userfile.Table) { d.Masters = append(d.Masters, d.readMaster(t, lines)) })
	if len(d.Masters) > 1 && !d.Masters[0].Primary {
		slices.Reverse(d.Masters)
	}
	d.readFaults(t)
	t.Each("at", func(t *userfile.Table) {
		t.Need("time", `"12s"`)
		d.Actions = append(d.Actions, d.action(t))
	})
	slices.SortStableFunc(d.Actions, func(a, b *Action) int { return cmp.Compare(a.Time, b.Time) })
	p := d.plan.clone()
	for i := 0; i < len(d.Actions) && t.Sound(); i++ {
		if err := p.foresee(d.Actions[i]); err != nil {
			t.Adopt(err)
		}
	}
}

// mostStore is the longest time that a write may take: the slave time-out, past
// which no reply to it leaves.
const mostStore = sim.SlaveTimeOut / sim.Millisecond // ms, rounded down

// checkWires refuses what does not go together on the wires.
func (d *Description) checkWires(t *userfile.Table) {
	if !t.Sound() {
		return
	}
	if _, err := d.plan.wires(); err != nil {
		t.Adopt(err)
	} else if err := d.plan.feeds(); err != nil {
		t.Adopt(err)
	}
}

// line reads what the devices share, and gives its electricity; grid and store time
// are each device's.
func (d *Description) line(t *userfile.Table, on *ground) wiring {
	t.Need("name", `"Quillmere"`)
	d.Name, _ = t.Text("name")
	d.Seed = uint64(t.Whole("seed", 0, 1<<63-1, 1))
	least, most, usual := transmitter.ShortestGrid, transmitter.LongestGrid, transmitter.DefaultGrid
	ms := t.Within("grid_ms", milliseconds(least), milliseconds(most), milliseconds(usual))
	on.grid = time.Duration(ms * float64(time.Millisecond))
	on.store = sim.Tick(math.Round(t.Within("store_ms", 0, float64(mostStore), usualStore) * float64(sim.Millisecond)))
	return wiringOf(t)
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
var quillmere string

// Example is the description of the demonstration line: a text to copy and change.
func Example() string { return quillmere }

// Demonstration is the built-in line: Quillmere, an invented small water works.
func Demonstration() *Description {
	d, err := Parse("quillmere.toml", []byte(quillmere), nil)
	if err != nil {
		panic(err) // a test reads it too
	}
	return d
}
