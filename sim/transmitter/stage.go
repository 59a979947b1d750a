package transmitter

import "looptone/frame/unit"

// A Stage is one step of the way from the process to the loop current.
type Stage interface {
	// Step takes the stage's input at a grid point, dt seconds after the one
	// before, and gives its output there. A dt of 0 is the same moment once
	// more, with another input or other settings: nothing has gone by that a
	// stage remembers. The very first step has a dt of 0 too; there a stage
	// settles on its input.
	Step(dt, in float64) (out float64)
}

// An Output is what can be read behind a stage: its name, its value and the
// value's unit.
type Output struct {
	Name  string
	Value float64
	Unit  unit.Code
}

// place is a stage in its place on the path, with what it gave last.
type place struct {
	Output
	stage Stage
	from  int // index on the path of the place whose output it takes
}

// A path is the places from the process, which has no stage, to the loop
// current; each takes from one before it.
type path []place

// add puts a stage at the end, fed by the place with index from, and gives its
// own index.
func (p *path) add(name string, u unit.Code, stage Stage, from int) int {
	*p = append(*p, place{Output{Name: name, Unit: u}, stage, from})
	return len(*p) - 1
}

// step moves every stage on by dt seconds to a point where the process is at in.
// What one stage hands to the next does not go through memory: that is quicker.
func (p path) step(dt, in float64) {
	p[0].Value = in
	for i := 1; i < len(p); i++ {
		at := &p[i]
		if at.from != i-1 {
			in = p[at.from].Value
		}
		in = at.stage.Step(dt, in)
		at.Value = in
	}
}
