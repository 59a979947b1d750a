package linefile

import (
	"errors"
	"fmt"

	"looptone/frame/userfile"
	"looptone/sim/process"
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
	list, _ := v.([]any)
	if _, count := v.(int64); count {
		t.NeedBeside("points", "shape")
	} else if ok && len(list) == 0 {
		t.RefuseValue("points", "a list of %d to %d, for instance %s", transmitter.FewestPoints, transmitter.MostPoints, examplePoints)
	}
	points := make([]transmitter.Point, len(list))
	for i, v := range list {
		if points[i].X, points[i].Y, ok = pairOf(v); !ok {
			t.Refuse(userfile.Element("points", i), fmt.Errorf("points[%d] is no point, want two numbers, for instance [50, 30]", i))
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
