package report

// Steps of time: the whole is divided into so many at most. When they do not reach any
// more, two become one.
const (
	mostSteps = 768
	firstStep = 1.0 / 16 // seconds
)

// A grid is the steps of time, and what went on in each.
type grid struct {
	from, width float64
	used        int // steps
	lanes       []*lane
}

// A lane is what one station did, step by step.
type lane struct {
	chars [mostSteps]uint32
	wrong [mostSteps]uint32 // messages damaged, noise, or not answered
	// The device status: bits that were set, and bits that were not, in some reply.
	set, unset [mostSteps]uint8
	status     bool // there was one
}

// begin sets where the steps begin.
func (g *grid) begin(at float64) { g.from, g.width = at, firstStep }

// step is the number of the step of a time. What lies in front of all belongs to the
// first.
func (g *grid) step(at float64) int {
	for at-g.from >= mostSteps*g.width {
		g.double()
	}
	i := max(int((at-g.from)/g.width), 0)
	g.used = max(g.used, i+1)
	return i
}

func (g *grid) double() {
	g.width *= 2
	g.used = (g.used + 1) / 2
	for _, l := range g.lanes {
		if l == nil {
			continue
		}
		l.double()
	}
}

func (l *lane) double() {
	for i := range mostSteps {
		if 2*i >= mostSteps {
			l.chars[i], l.wrong[i], l.set[i], l.unset[i] = 0, 0, 0, 0
			continue
		}
		a, b := 2*i, 2*i+1
		l.chars[i], l.wrong[i] = l.chars[a]+l.chars[b], l.wrong[a]+l.wrong[b]
		l.set[i], l.unset[i] = l.set[a]|l.set[b], l.unset[a]|l.unset[b]
	}
}

// spread adds characters that were on the line from one moment to another.
func (g *grid) spread(l *lane, from, to float64, chars int) {
	g.step(to) // so that the width stays
	first, last := g.step(from), g.step(to)
	for i := first; i < last; i++ {
		part := chars / (last - i + 1)
		l.chars[i] += uint32(part)
		chars -= part
	}
	l.chars[last] += uint32(chars)
}
