package view

import (
	"math"

	"looptone/sim/loop"
)

// AppendLoopPicture draws the voltage along a line: from the supply over what is in
// series, then along the cable by metres, now and at the worst currents, with every
// device at its place. The picture is SVG that needs nothing from elsewhere, and tells
// everything without colour. name is what the line is called.
func AppendLoopPicture(dst []byte, name string, b *loop.Budget) []byte {
	p := loopPicture{Budget: b, loop: b.Loop, name: name}
	p.layOut()
	p.draw()
	return append(dst, p.b.Bytes()...)
}

// A loopPicture is the picture of a loop that is being drawn, with where everything
// stands in it. The plot has three parts from left to right: what is in series, at
// fixed widths; the cable, by its length; and room for the devices at its end.
type loopPicture struct {
	sketch
	*loop.Budget
	loop *loop.Loop
	name string

	volts  scale
	metres scale
	parts  []part
	spots  []spot // the source, and the far end of each cable
	lanes  []lane
	head   []label // above the lanes
	listed list

	width, height            px      // of the picture
	left, right, top, bottom px      // of the plot
	above, below             []block // of text
}

// Measures of the picture.
const (
	pageMargin  px = 24
	plotHeight  px = 420
	axisHeight  px = 72 // of what stands below the plot
	leastWidth  px = 1000
	leastCable  px = 640 // of the cable in the plot
	leastLane   px = 18  // from a device to the next one
	widestLane  px = 130
	leastPart   px = 48
	textSize    px = 13
	smallSize   px = 12
	lineHeight  px = 18
	markRadius  px = 4.5
	worstRadius px = 8
)

// leastLength is the least length of cable, in metres, that there is an axis for.
const leastLength = 0.01

// How many characters of a name are shown at most: above a lane, and elsewhere.
const (
	mostOfTag  = 14
	mostOfName = 32
)

func (p *loopPicture) layOut() {
	p.scaleVolts()
	p.left = pageMargin + lineHeight + p.tickWidth() + 12
	p.standInSeries()
	p.placeSpots()
	p.placeDevices()
	p.labelDevices()
	p.listDevices()
	p.write()

	y := pageMargin
	for i := range p.above {
		y += p.above[i].height()
	}
	y = p.eachSign(y, func(px, px, *sign) {})
	p.top = y + p.headHeight() + 16
	p.bottom = p.top + plotHeight
	p.volts.from, p.volts.to = p.bottom, p.top
	p.height = p.bottom + axisHeight + p.listed.height() + lineHeight + pageMargin
	for i := range p.below {
		p.height += p.below[i].height()
	}
}

// scaleVolts lets the axis hold every voltage. Where the worst currents cannot flow it
// goes below zero, but not so far that nothing can be read any more.
func (p *loopPicture) scaleVolts() {
	low, high := 0.0, max(p.loop.Supply.V, 1)
	for _, s := range []*loop.Solution{p.Now, p.Worst} {
		low = min(low, s.SourceV)
		for _, v := range s.CableV {
			low = min(low, v)
		}
	}
	for i := range p.loop.Devices {
		high = max(high, p.loop.Devices[i].LiftOffV)
	}
	low = max(low, -high/2)
	step := tickStep(high-low, 10)
	p.volts = scale{
		low:  step * math.Floor(low/step+1e-9),
		high: step * math.Ceil(high/step-1e-9),
		step: step,
	}
}

func (p *loopPicture) tickWidth() (widest px) {
	p.volts.ticks(func(_ float64, label string) { widest = max(widest, textWidth(label, smallSize)) })
	return widest
}

// A part is a step with its room in the plot.
type part struct {
	step
	caption  []string
	from, to px
}

// standInSeries gives every part before the cable as much room as its caption needs.
func (p *loopPicture) standInSeries() {
	x := p.left
	for i, s := range steps(p.Budget) {
		caption := []string{s.name, volts(s.now) + " V"}
		if i > 0 {
			caption = []string{shortened(s.name, mostOfName), short(s.ohm) + " ohm", "takes " + volts(p.Now.SumMA*s.ohm/1000) + " V now"}
		}
		next := part{step: s, caption: caption, from: x, to: x + leastPart}
		for _, line := range caption {
			next.to = max(next.to, x+textWidth(line, smallSize)+12)
		}
		p.parts = append(p.parts, next)
		x = next.to
	}
}

// A spot is where devices may hang.
type spot struct {
	metres     float64 // from where the cable begins
	x          px
	reach      px // of the last device that hangs there
	now, worst float64
}

// placeSpots finds where the far ends of the cables are.
func (p *loopPicture) placeSpots() {
	p.spots = make([]spot, 1+len(p.loop.Cables))
	p.spots[0] = spot{now: p.Now.SourceV, worst: p.Worst.SourceV}
	for i := range p.loop.Cables {
		c := &p.loop.Cables[i]
		far := p.spotOf(c.Behind).metres + c.LengthM
		*p.spotOf(i) = spot{metres: far, now: p.Now.CableV[i], worst: p.Worst.CableV[i]}
		p.metres.high = max(p.metres.high, far)
	}
	if p.metres.high < leastLength {
		p.metres.high = 0
	}
	p.metres.from = p.parts[len(p.parts)-1].to
	p.metres.to = p.metres.from
	if p.metres.high > 0 {
		p.metres.to += max(leastCable, leastLane*px(len(p.loop.Devices)))
	}
	p.metres.step = tickStep(p.metres.high, int((p.metres.to-p.metres.from)/80))
	for i := range p.spots {
		p.spots[i].x = p.metres.from
		if p.metres.high > 0 {
			p.spots[i].x = p.metres.at(p.spots[i].metres)
		}
	}
}

// spotOf is the far end of a cable, or the source.
func (p *loopPicture) spotOf(cable int) *spot { return &p.spots[1+cable] }
