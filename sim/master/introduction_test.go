package master_test

import (
	"slices"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/master"
)

// An introduction asks for the long tag only where there is no tag and the revision has
// long ones; nobody is asked once, and what cannot be read as often as it may.
func TestIntroduction(t *testing.T) {
	untagged := config(7, 2)
	untagged.Tag = ""
	old := config(5, 3)
	old.Tag = ""
	twin := config(7, 1)
	twin.Identity.DeviceID, twin.Latency = 999, 41*sim.Millisecond
	tests := []struct {
		name       string
		devices    []device.Config
		address    frame.Address
		asked      []uint16
		found      bool
		unreadable bool
	}{
		{"with a tag", []device.Config{config(7, 1)}, frame.Polling(1), []uint16{0, 13}, true, false},
		{"by its unique address", []device.Config{config(7, 1)}, unique(config(7, 1)), []uint16{0, 13}, true, false},
		{"without", []device.Config{untagged}, frame.Polling(2), []uint16{0, 13, 20}, true, false},
		{"revision 5 without", []device.Config{old}, frame.Polling(3), []uint16{0, 13}, true, false},
		{"nobody", []device.Config{config(7, 1)}, frame.Polling(5), []uint16{0}, false, false},
		{"two", []device.Config{config(7, 1), twin}, frame.Polling(1), []uint16{0, 0, 0}, false, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := lineOf(t, 1, tt.devices...)
			i := master.Introduction{Address: tt.address, Retries: 2}
			var asked []uint16
			m := master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
				i.Run(func(tr *master.Transaction) bool {
					asked = append(asked, tr.Command)
					return yield(tr)
				})
			})
			defer m.Close()
			l.Join(m)
			for !m.Done() {
				l.Run(l.Next())
			}
			if !slices.Equal(asked, tt.asked) || (i.Device != nil) != tt.found || i.Unreadable != tt.unreadable {
				t.Errorf("asked %d, found %+v, unreadable %v", asked, i.Device, i.Unreadable)
			}
		})
	}
}

// unique is the unique address of a device.
func unique(c device.Config) frame.Address {
	return frame.UniqueOf(c.Revision, uint16(c.Maker), uint16(c.Type), c.DeviceID)
}

// Where something was heard once, somebody is there, though he is silent later.
func TestIntroductionKeepsWhatWasHeard(t *testing.T) {
	outcomes := []master.Outcome{master.Unreadable, master.Silent, master.Silent}
	asked := 0
	i := master.Introduction{Address: frame.Polling(1), Retries: 2}
	i.Run(func(tr *master.Transaction) bool { tr.Outcome = outcomes[asked]; asked++; return true })
	if asked != len(outcomes) || !i.Unreadable || i.Device != nil {
		t.Errorf("asked %d times, unreadable %v, found %v", asked, i.Unreadable, i.Device)
	}
}

// Who wants no more is asked no more.
func TestIntroductionEnds(t *testing.T) {
	told := 0
	i := master.Introduction{Address: frame.Polling(1), Retries: 2}
	if i.Run(func(*master.Transaction) bool { told++; return false }) || told != 1 {
		t.Errorf("%d transactions", told)
	}
}
