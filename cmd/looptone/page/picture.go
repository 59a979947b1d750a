package page

import (
	"fmt"
	"slices"
	"strconv"

	"looptone/sim/fault"
	"looptone/sim/loop"
)

// A picture is what of a line changes by actions only.
type picture struct {
	Loop    Loop
	Devices []Device
	Kinds   []FaultKind
}

func (s *Scene) paint() picture {
	l, known := s.assembly.Loop()
	p := picture{Loop: loopOf(l, known), Kinds: kinds}
	p.Loop.Heard = s.assembly.EverybodyHears()
	order := s.assembly.Order()
	for i, d := range s.assembly.Devices {
		tag := d.Config().Tag
		x := Device{Tag: tag, Kind: s.assembly.Kind(i), Revision: int(d.Config().Revision), Behind: l.Devices[i].Behind, Place: slices.Index(order, tag)}
		for _, o := range d.Transmitter().Outputs() {
			x.Outputs = append(x.Outputs, Output{Name: o.Name, Stage: o.Name, Unit: o.Unit.String(), Says: stageSays(o.Name)})
		}
		p.Devices = append(p.Devices, x)
	}
	return p
}

func loopOf(l *loop.Loop, known bool) Loop {
	p := Loop{
		Known: known, SupplyV: l.Supply.V, ResistorOhm: l.ResistorOhm, BarrierOhm: l.BarrierOhm,
		Series: []Instrument{}, HostAt: hostAt(l), Cables: []Cable{},
	}
	for _, x := range l.Series {
		p.Series = append(p.Series, Instrument{x.Name, x.Ohm})
	}
	for _, c := range l.Cables {
		p.Cables = append(p.Cables, Cable{c.Name, c.Behind, c.LengthM})
	}
	return p
}

func hostAt(l *loop.Loop) string {
	switch l.Host.At {
	case loop.AcrossSupply:
		return "supply"
	case loop.AcrossDevice:
		return l.Devices[l.Host.Device].Name
	}
	return "resistor"
}

// kinds are all kinds of faults.
var kinds = faultKinds()

func faultKinds() (list []FaultKind) {
	for _, k := range fault.Kinds() {
		f := FaultKind{Kind: k.Name, Does: k.What, Strikes: k.Strikes, Settings: []Setting{}}
		for _, x := range k.Settings {
			f.Settings = append(f.Settings, Setting{Key: x.Name, Says: x.What, Default: usual(&x)})
		}
		if !k.Lasts {
			f.Settings = append(f.Settings,
				Setting{Key: "probability", Says: "how likely it strikes where it can, up to 1", Default: "1"},
				Setting{Key: "count", Says: "how often it strikes at the most; 0 is no limit", Default: "0"})
		}
		if k.Other != "" {
			f.Settings = append(f.Settings, Setting{Key: k.OtherKey, Says: other(&k)})
		}
		list = append(list, f)
	}
	return list
}

// usual is what a setting is where nobody gives it; empty where somebody has to.
func usual(x *fault.Setting) string {
	if x.Needed {
		return ""
	}
	return strconv.FormatFloat(x.Usual, 'g', -1, 64)
}

func other(k *fault.Kind) string {
	if k.NoOther == "" {
		return k.Other
	}
	return fmt.Sprintf("%s; without it %s", k.Other, k.NoOther)
}
