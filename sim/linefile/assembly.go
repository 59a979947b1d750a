package linefile

import (
	"math/rand/v2"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
)

// An Assembly is a line with its devices on it, at line time 0.
type Assembly struct {
	Name    string
	Line    *sim.Line
	Devices []*device.Device // in the order of the description
}

// Assemble puts the devices on a line. A seed that is given takes the place of
// the description's. What was parsed is never refused; an error is one of
// [device.New].
func (d *Description) Assemble(seed *uint64) (*Assembly, error) {
	s := d.Seed
	if seed != nil {
		s = *seed
	}
	a := &Assembly{Name: d.Name, Line: sim.NewLine(s)}
	for _, c := range d.Devices {
		chance := chanceOf(s, c.Unique())
		c.Seed, c.Transmitter.Process.Seed = chance.Uint64(), chance.Uint64()
		dev, err := device.New(c)
		if err != nil {
			return nil, err
		}
		a.Devices = append(a.Devices, dev)
		a.Line.Join(dev)
	}
	return a, nil
}

// chanceOf draws the seeds of a device. They follow from its unique address, so
// that they stay what they are when other devices come and go.
func chanceOf(seed uint64, a frame.Address) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(a.DeviceType())<<24|uint64(a.DeviceID())))
}
