package linefile

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"looptone/frame/near"
	"looptone/frame/userfile"
	"looptone/sim/loop"
)

// Limits of a cable; what is beyond is a slip of the pen.
const (
	mostCables    = 1000
	mostLengthM   = 1e5
	mostOhmPerKM  = 1e4
	mostNFPerKM   = 1e5
	thinnestGauge = 40
)

// A cable is a segment as it is described. Behind in it is not set.
type cable struct {
	loop.Cable
	table  *userfile.Table
	behind string // name of the cable that it goes on from; empty: it begins at the source end
}

// cables reads the cables of a line. One that does not say where it begins goes on
// behind the one before it.
func cables(t *userfile.Table) (list []cable) {
	t.Each("cable", func(t *userfile.Table) {
		c := cableOf(t)
		if len(list) > 0 && !t.Has("behind") {
			c.behind = list[len(list)-1].Name
		}
		for i := range list {
			if list[i].Name == c.Name && c.Name != "" {
				t.Refuse("name", fmt.Errorf("name %q is given twice, first in line %d: want one of its own for each cable",
					c.Name, list[i].table.Line("name")))
			}
		}
		if list = append(list, c); len(list) == mostCables+1 {
			t.Refuse("", fmt.Errorf("this is cable %d, want at most %d", len(list), mostCables))
		}
	})
	return list
}

func cableOf(t *userfile.Table) cable {
	c := cable{table: t}
	t.Need("name", `"trunk"`)
	if c.Name, _ = t.Text("name"); t.Value("name") == "" {
		t.Refuse("name", errors.New(`name "" is empty, want one such as "trunk"`))
	}
	c.behind, _ = t.Text("behind")
	t.Need("length_m", "600")
	c.LengthM = t.Within("length_m", 0, mostLengthM, 0)
	c.OhmPerKM = ohmPerKM(t)
	t.Need("nf_per_km", "100")
	c.NFPerKM = t.Within("nf_per_km", 0, mostNFPerKM, 0)
	return c
}

// ohmPerKM reads the resistance of one core, from its gauge or as a number.
func ohmPerKM(t *userfile.Table) float64 {
	t.NeedOne([]string{"ohm_per_km", "awg"}, "awg", "18")
	ohm := t.Within("ohm_per_km", 0, mostOhmPerKM, 0)
	awg := t.Whole("awg", 0, thinnestGauge, thinnestGauge)
	if !t.Has("awg") {
		return ohm
	}
	if t.Has("ohm_per_km") {
		t.Refuse("ohm_per_km", errors.New("ohm_per_km and awg both say what the resistance of a core is: want one of the two"))
	}
	ohm, _ = loop.OhmPerKM(int(awg)) // it knows all from 0 to the thinnest
	return ohm
}

// ordered are the indices of the cables, so that each stands behind the one that it
// goes on from, else in the order of the file.
func (w *wiring) ordered() (order []int, err error) {
	const onTheWay, done = 1, 2
	state := make([]int, len(w.cables))
	var visit func(i int) error
	visit = func(i int) error {
		c := &w.cables[i]
		switch state[i] {
		case done:
			return nil
		case onTheWay:
			return c.table.Placed("behind", fmt.Errorf("behind: cable %q is behind itself: %s; want one of them behind a cable that leads to the supply",
				c.Name, strings.Join(w.circle(i), " behind ")))
		}
		state[i] = onTheWay
		if c.behind != "" {
			j := w.place(c.behind)
			if j < 0 {
				return c.table.Placed("behind", w.unknownCable(c.behind))
			}
			if err := visit(j); err != nil {
				return err
			}
		}
		state[i] = done
		order = append(order, i)
		return nil
	}
	for i := range w.cables {
		if err := visit(i); err != nil {
			return nil, err
		}
	}
	return order, nil
}

// circle are the names of cables that are behind one another, from cable i to itself.
func (w *wiring) circle(i int) []string {
	names := []string{w.cables[i].Name}
	for j := w.place(w.cables[i].behind); ; j = w.place(w.cables[j].behind) {
		names = append(names, w.cables[j].Name)
		if j == i {
			return names
		}
	}
}

// place is the index of the cable with a name; -1 for none.
func (w *wiring) place(name string) int {
	return slices.IndexFunc(w.cables, func(c cable) bool { return c.Name == name })
}

// placeOf is where the cable with a name stands in an order; [loop.Source] for no name.
func (w *wiring) placeOf(order []int, name string) int {
	if name == "" {
		return loop.Source
	}
	return slices.Index(order, w.place(name))
}

// unknownCable refuses the name of a cable that is not there.
func (w *wiring) unknownCable(name string) error {
	if len(w.cables) == 0 {
		return fmt.Errorf("behind: the line has no cable, want a [[line.cable]] with the name %q, or behind left out", name)
	}
	names := make([]string, len(w.cables))
	for i := range w.cables {
		names[i] = w.cables[i].Name
	}
	if instead := near.Name(name, names); instead != "" {
		return fmt.Errorf("behind: no cable has the name %q: did you mean %q?", name, instead)
	}
	const few = 10
	if len(names) > few {
		names = append(names[:few], "...")
	}
	return fmt.Errorf("behind: no cable has the name %q, want one of %s", name, strings.Join(names, ", "))
}
