package linefile

import (
	"errors"
	"fmt"
	"math"

	"looptone/frame"
	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
	"looptone/sim/setting"
)

// usualLatency is that of a device whose description gives none.
const usualLatency = 50 // ms

// usualPreambles is how many preambles a device asks for, and sends.
//
// Source: FieldComm Group support article 8000040648 (5 at 1200 bit/s).
const usualPreambles = 5

// nobody is a maker's code that no maker owns.
//
// Source: from memory (250 to 253 are special; 249 is not given out).
const nobody = 249

// usualDate is that of a device that has none.
const usualDate = "2031-03-01"

// An entry is a device of a description, with what is asked about it once all
// are known.
type entry struct {
	device.Config
	table  *userfile.Table // that describes it
	shares bool            // its polling address, on purpose
	vessel *process.Shape  // that its table was made for; nil for another table, or none
	valve  string          // tag of the device whose current opens the valve of its process, if one does
	hookup hookup
}

// tags are those of some devices.
func tags(devices []entry) []string {
	list := make([]string, len(devices))
	for i := range devices {
		list[i] = devices[i].Tag
	}
	return list
}

// entryOf reads the device with index i.
func entryOf(t *userfile.Table, i int, on *ground) entry {
	e := entry{table: t, shares: t.Truth("allow_duplicate", false)}
	e.StoreTime = on.store
	k, ok := kindOf(t)
	signalPath(t, k, on, &e)
	e.Identity = identity(t, i, k)
	texts(t, &e.Config)
	onTheLine(t, &e.Config)
	writing(t, &e.Config)
	e.Bursts = bursts(t)
	e.hookup = hookupOf(t)
	if ok && t.Sound() {
		check(t, &e.Config)
	}
	return e
}

func identity(t *userfile.Table, i int, k kind) device.Identity {
	id := device.Identity{
		Revision:       uint8(t.Whole("revision", 5, 7, 7)),
		DeviceRevision: 1, SoftwareRevision: 1, HardwareRevision: 1,
		DeviceID:       uint32(t.Whole("device_id", 0, 0xffffff, int64(101+i))),
		Preambles:      uint8(t.Whole("preambles", 5, 20, usualPreambles)),
		ReplyPreambles: uint8(t.Whole("reply_preambles", 5, 20, usualPreambles)),
	}
	most := int64(0xff)
	if id.Revision >= 7 {
		most = 0xffff
	}
	id.Maker = uint16(t.Whole("maker", 0, most, nobody))
	usual := k.deviceType
	if id.Revision >= 7 { // from memory: the maker leads the expanded device type
		usual |= id.Maker << 8
	}
	id.Type = uint16(t.Whole("device_type", 0, most, int64(usual)))
	return id
}

// texts reads what names a device.
func texts(t *userfile.Table, c *device.Config) {
	t.Need("tag", `"PT-101"`)
	c.Tag, _ = t.Text("tag")
	if t.Value("tag") == "" {
		t.Refuse("tag", errors.New(`tag "" is empty, want 1 to 8 characters`))
	}
	var given bool
	if c.LongTag, given = t.Text("long_tag"); !given {
		c.LongTag = c.Tag
	} else if c.Revision == 5 {
		t.Refuse("long_tag", errors.New("revision 5 has no long tag: leave it out, or raise the revision"))
	}
	c.Descriptor, _ = t.Text("descriptor")
	c.Message, _ = t.Text("message")
	if c.Date, given = t.Day("date"); !given {
		c.Date = usualDate
	}
}

// onTheLine reads how a device behaves on the line.
func onTheLine(t *userfile.Table, c *device.Config) {
	t.Need("polling", "1")
	c.Polling = uint8(t.Whole("polling", 0, frame.MaxPolling, 0))
	latency := min(max(t.Number("latency_ms", usualLatency), -longest*1e3), longest*1e3)
	c.Latency = sim.Tick(math.Round(latency * float64(sim.Millisecond)))
	c.Level = float32(t.Within("amplitude_v", 0.001, 10, sim.NominalLevel))
	c.ClockPPM = clock(t)
	mode, given := t.Choice("loop_current_mode", "fixed", "modulated")
	switch {
	case given && c.Revision == 5:
		t.Refuse("loop_current_mode", errors.New("revision 5 has no loop current mode: the polling address decides, "+
			"0 lets the current follow, 1 to 15 park it at 4 mA; leave it out, or raise the revision"))
	case given:
		c.LoopCurrent = mode == "modulated"
	default:
		c.LoopCurrent = c.Polling == 0
	}
}

// mostPPM is how wrong a clock may be: tones and bit rate within 1 %.
//
// Source: from memory (tones and bit rate within 1 %).
const mostPPM = 10_000

// clock reads how wrong the clock is that somebody sends by.
func clock(t *userfile.Table) int32 {
	return int32(t.Whole("clock_ppm", -mostPPM, mostPPM, 0))
}

// mostWrite is the longest time that a write may take a device.
const mostWrite = 60_000 // ms

// writing reads what writes meet, and whether a controller drives a current that
// would be parked.
func writing(t *userfile.Table, c *device.Config) {
	c.WriteTime = sim.Tick(math.Round(t.Within("write_ms", 0, mostWrite, 0) * float64(sim.Millisecond)))
	c.WriteProtect = t.Truth("write_protect", false)
	c.MultidropCurrent = t.Truth("multidrop_current", false)
	if c.MultidropCurrent && c.Revision != 5 {
		t.Refuse("multidrop_current", fmt.Errorf("multidrop_current is for revision 5: in revision %d the loop current mode "+
			"alone decides, want loop_current_mode = \"modulated\" instead", c.Revision))
	}
}

// check refuses what the device itself refuses.
func check(t *userfile.Table, c *device.Config) {
	_, err := device.New(*c)
	var refused *setting.Error
	switch {
	case err == nil:
	case errors.As(err, &refused):
		t.Refuse(refused.Name, sentence(t, refused))
	default:
		t.Refuse("", err)
	}
}

// sentence is what a device refuses; of a text that does not fit it does not say
// which one it is.
func sentence(t *userfile.Table, refused *setting.Error) error {
	if refused.Err != nil {
		return fmt.Errorf("%s %q %w", refused.Name, t.Value(refused.Name), refused.Err)
	}
	return refused
}
