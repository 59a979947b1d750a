package linefile

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"looptone/frame/userfile"
	"looptone/sim"
	"looptone/sim/fault"
	"looptone/sim/setting"
)

func readFaultOf(t *userfile.Table, d *Description, x *Action) {
	t.Sub("fault", func(t *userfile.Table) { x.fault = readFault(t, d.tags()) })
	if x.Timed && x.fault.Until != 0 && x.fault.Until <= x.Time {
		t.Refuse("fault.until", fmt.Errorf("until: got %v, want later than time", x.fault.Until.Duration()))
	}
}

func foreseeFault(p *plan, x *Action) error {
	if name := x.fault.Name; name != "" && slices.Contains(p.faults, name) {
		return x.table.Placed("fault.name", fmt.Errorf("name: got %q, want another name: there is a fault of this name", name))
	}
	p.faults = append(p.faults, nameOf(&x.fault, p.faults))
	return nil
}

func sayFault(x *Action, when string) string {
	text := fmt.Sprintf("%q strikes %s %s", x.fault.Kind, x.whom(), when)
	if x.fault.Name != "" && x.fault.Name != x.fault.Kind {
		text += fmt.Sprintf(", by the name %q", x.fault.Name)
	}
	return text
}

// whom says whom a fault strikes.
func (x *Action) whom() string {
	switch f := &x.fault; {
	case f.Device != "":
		return f.Device
	case f.Talker == fault.Host:
		return "every host"
	case f.Talker == "primary master", f.Talker == "secondary master":
		return "the " + f.Talker
	case f.Talker != "":
		return f.Talker
	}
	return "the line"
}

func addFault(a *Assembly, now sim.Tick, x *Action) error {
	name, err := a.Faults.Add(now, x.fault)
	var refused *setting.Error
	if errors.As(err, &refused) {
		return x.table.Placed(userfile.Below("fault", refused.Name), err)
	}
	if err != nil {
		return x.table.Placed("fault", err)
	}
	x.fault.Name = name
	return nil
}

func readRemove(t *userfile.Table, _ *Description, x *Action) { x.name, _ = t.Text("remove") }

func foreseeRemove(p *plan, x *Action) error {
	i := slices.Index(p.faults, x.name)
	if i < 0 {
		return x.noFault(p.faults)
	}
	p.faults = slices.Delete(p.faults, i, i+1)
	return nil
}

func removeFault(a *Assembly, now sim.Tick, x *Action) error {
	if !a.Faults.Remove(now, x.name) {
		return x.noFault(a.Faults.Names())
	}
	return nil
}

// noFault refuses a name that is none of a fault that is there.
func (x *Action) noFault(names []string) error {
	if len(names) == 0 {
		return x.table.Placed("remove", fmt.Errorf("no fault is named %q: there is none", x.name))
	}
	return x.table.Placed("remove", fmt.Errorf("no fault is named %q, want one of %s", x.name, strings.Join(names, ", ")))
}
