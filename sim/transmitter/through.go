package transmitter

import (
	"math"
	"slices"
)

// Inputs are, for each of [Transmitter.Outputs], the index of the one that goes into
// its stage; −1 for the process, into which none does.
func (t *Transmitter) Inputs() []int {
	list := make([]int, len(t.path))
	for i := range t.path {
		list[i] = t.path[i].from
	}
	list[0] = -1
	return list
}

// Through is what the stage behind which that output stands makes of an input, as it is
// set now; the output stage as it does when the current moves. It changes nothing. ok is
// false where there is no such stage, and where more than the input counts: for damping,
// totaliser and controller.
func (t *Transmitter) Through(name string, in float64) (out float64, ok bool) {
	i := slices.IndexFunc(t.path, func(p place) bool { return p.Name == name })
	if i <= 0 {
		return 0, false
	}
	stage := t.path[i].stage
	switch s := stage.(type) {
	case *damping, *totaliser, *forwardTotal, *pid:
		return 0, false
	case *sensor: // those that note what they have met: copies do
		own := *s
		stage = &own
	case *table:
		own := *s
		stage = &own
	case *current:
		own := *s
		own.Mode = Modulated
		stage = &own
	}
	return stage.Step(0, in), true
}

// StepResponse is how damping follows an input that steps at once, as it is set now: the
// seconds since the step, and how many percent of the way it has gone, at grid points up
// to so many seconds, of which there are n and a few at most.
func (t *Transmitter) StepResponse(seconds float64, n int) []Point {
	every := t.dt * max(1, math.Ceil(seconds/t.dt/float64(n)))
	var d damping
	d.set(t.cfg.DampingS, every)
	d.Step(0, 0)
	list := []Point{{0, d.Step(0, 100)}}
	for i := 1; float64(i)*every <= seconds+t.dt/2; i++ {
		list = append(list, Point{float64(i) * every, d.Step(every, 100)})
	}
	return list
}
