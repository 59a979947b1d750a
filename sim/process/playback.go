package process

import (
	"time"

	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/setting"
)

// Playback is a course that was recorded or drawn: straight lines between points.
// Before the first point and behind the last it stays, or behind the last, with
// Repeat, begins again at the first. Values are in the sensor's unit.
type Playback struct {
	Points []Sample
	Repeat bool
}

// A Sample is a value at a moment of line time.
type Sample struct {
	At    time.Duration
	Value float64
}

func (s Sample) after(before Sample) bool { return sim.Ticks(s.At) > sim.Ticks(before.At) }

func (Playback) Unit() unit.Code { return 0 }

// Check wants a point or more, two where the course repeats, with rising times.
func (p Playback) Check(time.Duration) error {
	if len(p.Points) == 0 {
		return setting.Refuse("process.file", "no points", "one or more")
	}
	if p.Repeat && len(p.Points) == 1 {
		return setting.Refuse("process.repeat", "one point", "two or more to repeat")
	}
	for i, s := range p.Points {
		if i > 0 && !s.after(p.Points[i-1]) {
			return setting.Refuse("process.file", s.At, "more than %v, the time before it", p.Points[i-1].At)
		}
		if err := setting.Number("process.file", s.Value); err != nil {
			return err
		}
	}
	return nil
}

func (p Playback) Course() Course { return &playback{Playback: p} }

// playback is a [Playback] on its way, in the stretch that ends with the point
// with number next.
type playback struct {
	Playback
	next int
}

func (p *playback) Step(now sim.Tick, _, _ float64) float64 {
	if p.Repeat {
		now = p.fold(now)
	}
	for p.next < len(p.Points) && now >= p.at(p.next) {
		p.next++
	}
	switch p.next {
	case 0:
		return p.Points[0].Value
	case len(p.Points):
		return p.Points[p.next-1].Value
	}
	from, to := p.at(p.next-1), p.at(p.next)
	a, b := p.Points[p.next-1].Value, p.Points[p.next].Value
	return a + float64(now-from)/float64(to-from)*(b-a)
}

func (p *playback) at(i int) sim.Tick { return sim.Ticks(p.Points[i].At) }

// fold maps moments behind the last point to those before it.
func (p *playback) fold(now sim.Tick) sim.Tick {
	first, last := p.at(0), p.at(len(p.Points)-1)
	if now < last {
		return now
	}
	now = first + (now-first)%(last-first)
	if p.next > 0 && now < p.at(p.next-1) {
		p.next = 0
	}
	return now
}
