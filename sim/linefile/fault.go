package linefile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"looptone/frame/userfile"
	"looptone/sim/fault"
	"looptone/sim/setting"
)

// readFault reads something that is wrong on a line with devices of these tags.
func readFault(t *userfile.Table, tags []string) fault.Fault {
	kinds := fault.Kinds()
	names := make([]string, len(kinds))
	for i := range kinds {
		names[i] = kinds[i].Name
	}
	t.Need("kind", `"late reply"`)
	kind, ok := t.Choice("kind", names...)
	f := fault.Fault{Kind: kind, Probability: t.Within("probability", 0, 1, 1), Count: int(t.Whole("count", 1, math.MaxInt32, 0))}
	f.Name, _ = t.Text("name")
	f.Device = tagOf(t, "device", tags)
	f.Talker, _ = t.Text("talker")
	f.From, _ = span(t, "from")
	var ends bool
	if f.Until, ends = span(t, "until"); ends && f.Until == 0 {
		t.RefuseValue("until", "later than from")
	}
	if !ok {
		return f
	}
	t.Name += fmt.Sprintf(" of kind %q", kind)
	readKind(t, &kinds[slices.Index(names, kind)], &f, tags)
	if t.Sound() {
		checkFault(t, &f, tags)
	}
	return f
}

// readKind reads what only some kinds of faults have.
func readKind(t *userfile.Table, k *fault.Kind, f *fault.Fault, tags []string) {
	if k.Strikes == "device" {
		t.Need("device", `"PT-101"`)
	}
	for _, s := range k.Settings {
		if s.Needed {
			t.Need(s.Name, fmt.Sprint(s.Usual))
		}
		v := t.Number(s.Name, s.Usual)
		if t.Has(s.Name) {
			if f.Settings == nil {
				f.Settings = map[string]float64{}
			}
			f.Settings[s.Name] = v
		}
	}
	if k.OtherKey != "" {
		if k.NoOther == "" {
			t.Need(k.OtherKey, `"PT-101"`)
		}
		f.Other = tagOf(t, k.OtherKey, tags)
	}
}

// checkFault refuses what faults refuse.
func checkFault(t *userfile.Table, f *fault.Fault, tags []string) {
	var refused *setting.Error
	switch err := f.Check(tags); {
	case errors.As(err, &refused):
		t.Refuse(refused.Name, err)
	case err != nil:
		t.Refuse("", err)
	}
}

// tagOf reads the tag of a device that is on the line.
func tagOf(t *userfile.Table, key string, tags []string) string {
	tag, ok := t.Text(key)
	if ok && !slices.Contains(tags, tag) {
		t.Refuse(key, notOnTheLine(key, tag, tags))
		return ""
	}
	return tag
}

func notOnTheLine(what, tag string, tags []string) error {
	if len(tags) == 0 {
		return fmt.Errorf("%s %q is not on the line, which has no device", what, tag)
	}
	return fmt.Errorf("%s %q is not on the line, want one of %s", what, tag, strings.Join(tags, ", "))
}

// nameOf is the name of a fault, or the one that a fault without a name gets
// beside those with these names.
func nameOf(f *fault.Fault, names []string) string {
	return cmp.Or(f.Name, fault.FreeName(f.Kind, names))
}

// ReadFault reads what stands behind --fault, such as
// "late reply, device=LT-103, delay_chars=30": the kind of a fault, and the keys of
// a [[fault]]. An error is an [*Error] that names the flag and the column.
func (d *Description) ReadFault(text string) (fault.Fault, error) {
	t, err := userfile.ParseWords("--fault", text, "kind")
	if err != nil {
		return fault.Fault{}, err
	}
	f := readFault(t, d.tags())
	return f, t.End()
}

// readFaults reads the faults that are there from the beginning.
func (d *Description) readFaults(t *userfile.Table) {
	var tables []*userfile.Table
	t.Each("fault", func(t *userfile.Table) {
		f := readFault(t, d.tags())
		if slices.Contains(d.plan.faults, f.Name) {
			t.Refuse("name", fmt.Errorf("name %q is that of a fault before: want another one", f.Name))
		}
		f.Name = nameOf(&f, d.plan.faults)
		d.plan.faults = append(d.plan.faults, f.Name)
		d.Faults, tables = append(d.Faults, f), append(tables, t)
	})
	if len(d.Faults) == 0 || !t.Sound() {
		return
	}
	a := d.bare(d.Seed)
	if err := d.joinDevices(a, d.Seed, nil); err != nil {
		t.Refuse("", err)
		return
	}
	defer a.Close()
	for i, f := range d.Faults {
		if _, err := a.Faults.Add(0, f); err != nil {
			t.Adopt(refusedBy(tables[i], err))
			return
		}
	}
}

// tags are those of the devices.
func (d *Description) tags() []string {
	list := make([]string, len(d.Devices))
	for i := range d.Devices {
		list[i] = d.Devices[i].Tag
	}
	return list
}
