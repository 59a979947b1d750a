package view

import (
	"cmp"
	"slices"

	"looptone/sim/loop"
)

// A lane is where a device stands in the plot: at its place on the cable, or as close
// to the right of it as the others let it. A line at its voltage leads there.
type lane struct {
	device int
	spot   *spot
	x      px
}

// A label is a text above the plot: flat where there is room for all of them, else
// upright.
type label struct {
	text string
	row  int // from the plot up; -1 for an upright one
}

// mostRows is how many rows of flat labels there may be.
const mostRows = 4

// placeDevices gives every device a lane of its own.
func (p *loopPicture) placeDevices() {
	for i := range p.loop.Devices {
		s := p.spotOf(p.loop.Devices[i].Behind)
		p.lanes = append(p.lanes, lane{device: i, spot: s, x: s.x})
	}
	slices.SortStableFunc(p.lanes, func(a, b lane) int { return cmp.Compare(a.x, b.x) })
	between := leastLane
	if p.metres.high == 0 { // side by side
		room := leastWidth - pageMargin - p.metres.from
		between = min(widestLane, max(leastLane, room/px(1+len(p.lanes))))
	}
	last := p.metres.from
	for i := range p.lanes {
		p.lanes[i].x = max(p.lanes[i].x, last+between)
		last = p.lanes[i].x
		p.lanes[i].spot.reach = last
	}
	p.right = max(p.metres.to, last) + leastLane
}

// labelDevices writes the tags above the lanes. Flat ones begin at the line of their
// lane; so the labels to the right, whose lines they stand over, have to be lower.
func (p *loopPicture) labelDevices() {
	p.head = make([]label, len(p.lanes))
	rows := 0
	for i := len(p.lanes) - 1; i >= 0; i-- {
		text, row := p.tagOf(p.lanes[i].device), 0
		end := p.lanes[i].x + 8 + textWidth(text, smallSize)
		for j := i + 1; j < len(p.lanes) && p.lanes[j].x < end; j++ {
			row = max(row, 1+p.head[j].row)
		}
		p.head[i] = label{text, row}
		rows = max(rows, 1+row)
	}
	if rows > mostRows {
		for i := range p.head {
			p.head[i].row = -1
		}
		return
	}
	for i := range p.head {
		p.width = max(p.width, p.lanes[i].x+8+textWidth(p.head[i].text, smallSize)+pageMargin)
	}
}

// tagOf is what stands above a device.
func (p *loopPicture) tagOf(device int) string {
	tag := shortened(p.loop.Devices[device].Name, mostOfTag)
	if p.Now.Devices[device].Dark != loop.Lit {
		return tag + " dark"
	}
	return tag
}

func (p *loopPicture) headHeight() (height px) {
	for _, l := range p.head {
		if l.row < 0 {
			height = max(height, textWidth(l.text, smallSize)+12)
		}
		height = max(height, px(l.row+1)*lineHeight+4)
	}
	return height
}

// drawLanes draws the devices, what leads to them, and their tags.
func (p *loopPicture) drawLanes() {
	for i := range p.spots {
		p.drawLead(&p.spots[i])
	}
	for i := range p.lanes {
		l, head := &p.lanes[i], &p.head[i]
		p.put(`<g class="device">`)
		p.hold("title", "", p.sentence(l.device))
		p.drawLane(l, head)
		if head.row < 0 {
			p.upright(l.x+4, p.top-8, head.text)
		} else {
			p.text(l.x+4, p.baseOf(head), head.text)
		}
		p.put(`</g>`)
	}
}

// drawLead leads from a spot to those of its devices that had to stand to the right of it.
func (p *loopPicture) drawLead(s *spot) {
	if s.reach <= s.x {
		return
	}
	p.put(`<path d="M%v %vH%v" fill="none" stroke="#999" stroke-width="2" stroke-dasharray="9 6"/>`, s.x, p.volts.at(s.worst), s.reach)
	p.put(`<path d="M%v %vH%v" fill="none" stroke="#111"/>`, s.x, p.volts.at(s.now), s.reach)
}

// baseOf is the base line of a flat label.
func (p *loopPicture) baseOf(head *label) px { return p.top - 8 - px(head.row)*lineHeight }

func (p *loopPicture) drawLane(l *lane, head *label) {
	now, worst := &p.Now.Devices[l.device], &p.Worst.Devices[l.device]
	least := p.loop.Devices[l.device].LiftOffV
	yNow, yWorst := p.volts.at(now.V), p.volts.at(worst.V)
	top, lowest := p.top-4, max(yNow, yWorst)
	if head.row >= 0 {
		top = p.baseOf(head) - 10
	}
	if least > 0 {
		lowest = max(lowest, p.volts.at(least))
	}
	p.put(`<g fill="none" stroke="#111">`)
	p.put(`<path d="M%v %vV%v" stroke="#aaa"/>`, l.x, top, lowest)
	if least > 0 {
		p.liftOff(l.x, p.volts.at(least))
	}
	p.worstMark(l.x, yWorst, p.volts.shows(worst.V))
	p.nowMark(l.x, yNow, now.Dark == loop.Lit)
	p.put(`</g>`)
}

func (p *loopPicture) liftOff(x, y px) {
	p.put(`<path class="lift-off" d="M%v %vh14" stroke-width="3"/>`, x-7, y)
}

// nowMark is filled where a device works, and open with a cross where it is dark.
func (p *loopPicture) nowMark(x, y px, lit bool) {
	if lit {
		p.put(`<circle class="now" cx="%v" cy="%v" r="%v" fill="#111"/>`, x, y, markRadius)
		return
	}
	p.put(`<circle class="now dark" cx="%v" cy="%v" r="%v" fill="#fff" stroke-width="1.5"/>`, x, y, markRadius+1)
	p.put(`<path d="M%v %vl6 6m0 -6l-6 6" stroke-width="1.5"/>`, x-3, y-3)
}

// worstMark stands around the mark of now where both voltages are the same. One that
// points down stands for a voltage below the axis.
func (p *loopPicture) worstMark(x, y px, shown bool) {
	r := worstRadius
	if !shown {
		p.put(`<path class="worst below" d="M%v %vh%vl%v %vz"/>`, x-6, y-10, px(12), px(-6), px(10))
		return
	}
	p.put(`<path class="worst" d="M%v %vl%v %vl%v %vl%v %vz"/>`, x-r, y, r, -r, r, r, -r, r)
}
