package linefile

import (
	"errors"
	"fmt"

	"looptone/frame/userfile"
	"looptone/sim/process"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// usualPoints is how many points a table has that is made for a vessel.
//
// Source: common practice.
const usualPoints = 16

const examplePoints = "[[0, 0], [50, 30], [100, 100]]"

// table reads the points of a table, or makes them for a vessel; which one is nil
// where they were given.
func table(t *userfile.Table) (points []transmitter.Point, vessel *process.Shape) {
	if !t.Has("shape") {
		t.Ask("shape")
		t.Need("points", examplePoints)
		return given(t), nil
	}
	if _, is := t.Value("points").([]any); is {
		t.Refuse("points", errors.New("points are listed beside a shape, want the points, or the shape and how many"))
	}
	n := t.Whole("points", transmitter.FewestPoints, transmitter.MostPoints, usualPoints)
	s, ok := shape(t)
	if !ok {
		return nil, nil
	}
	return transmitter.Strapping(s, int(n)), &s
}

// given reads points that are listed.
func given(t *userfile.Table) []transmitter.Point {
	v, ok := t.Ask("points")
	list, isList := v.([]any)
	_, isCount := v.(int64)
	least, most := transmitter.FewestPoints, transmitter.MostPoints
	switch {
	case !ok:
	case isCount:
		t.NeedBeside("points", "shape")
	case !isList:
		t.RefuseValue("points", "a list of %d to %d, for instance %s", least, most, examplePoints)
	case len(list) == 0: // which the transmitter would take for no table
		t.Refuse("points", setting.Refuse("table.points", "0 points", "%d to %d", least, most))
	}
	points := make([]transmitter.Point, len(list))
	for i, v := range list {
		if points[i].X, points[i].Y, ok = pairOf(v); !ok {
			at := userfile.Element("points", i)
			t.Refuse(at, setting.Refuse("table."+at, "no point", "two numbers, for instance [50, 30]"))
		}
	}
	return points
}

// shape reads the shape of a vessel.
func shape(t *userfile.Table) (s process.Shape, ok bool) {
	var names []string
	for _, s := range process.Shapes() {
		names = append(names, s.String())
	}
	t.Need("shape", fmt.Sprintf("%q", process.Sphere))
	name, _ := t.Choice("shape", names...)
	for _, s = range process.Shapes() {
		if s.String() == name {
			return s, true
		}
	}
	return 0, false
}
