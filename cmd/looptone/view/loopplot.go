package view

// draw draws everything where it was laid out.
func (p *loopPicture) draw() {
	p.put(`<svg xmlns="http://www.w3.org/2000/svg" role="img" width="%v" height="%v" viewBox="0 0 %v %v" font-family="sans-serif" font-size="%v" fill="#111">`,
		p.width, p.height, p.width, p.height, smallSize)
	p.hold("title", "", p.title())
	p.hold("desc", "", p.description())
	p.put(`<rect width="%v" height="%v" fill="#fff"/>`, p.width, p.height)
	y := pageMargin
	for i := range p.above {
		y = p.drawBlock(y, &p.above[i])
	}
	p.drawLegend(y)
	p.drawAxes()
	p.drawWays()
	p.drawLanes()
	p.drawCableNames()
	p.drawList(p.bottom + axisHeight + lineHeight)
	y = p.bottom + axisHeight + p.listed.height() + lineHeight
	for i := range p.below {
		y = p.drawBlock(y, &p.below[i])
	}
	p.put(`</svg>`)
}

// drawAxes draws the volts from line to line, and below them what is in series, and the
// cable by its length.
func (p *loopPicture) drawAxes() {
	p.volts.ticks(func(v float64, label string) {
		y, colour := p.volts.at(v), "#ddd"
		if v == 0 {
			colour = "#111"
		}
		p.put(`<path d="M%v %vH%v" stroke="%s"/>`, p.left, y, p.right, colour)
		p.text(p.left-8, y+4, label, atEnd, `class="volts"`)
	})
	p.put(`<path d="M%v %vV%vH%v" fill="none" stroke="#111"/>`, p.left, p.top, p.bottom, p.right)
	p.upright(pageMargin+smallSize, (p.top+p.bottom)/2+textWidth("volts", smallSize)/2, "volts")

	for i := range p.parts {
		s := &p.parts[i]
		for n, line := range s.caption {
			p.text((s.from+s.to)/2, p.bottom+20+px(n)*16, line, centred)
		}
		p.put(`<path d="M%v %vV%v" stroke="#bbb" stroke-dasharray="2 4"/>`, s.to, p.top, p.bottom+6)
	}
	p.drawMetres()
}

// drawMetres draws the axis of the cable.
func (p *loopPicture) drawMetres() {
	if p.metres.high == 0 {
		if len(p.lanes) > 0 {
			p.text((p.metres.from+p.right)/2, p.bottom+20, "devices, side by side", centred)
		}
		return
	}
	p.metres.ticks(func(m float64, label string) {
		x := p.metres.at(m)
		p.put(`<path d="M%v %vv6" stroke="#111"/>`, x, p.bottom)
		p.text(x, p.bottom+20, label, centred, `class="metres"`)
	})
	p.text((p.metres.from+p.metres.to)/2, p.bottom+40, "metres of cable from where it begins", centred)
}

// A point is a place in the plot: across it, and in volts.
type point struct {
	x px
	v float64
}

// drawWays draws the voltage along the wires: at the worst currents broad, grey and
// dashed, and now over it, so that both can be seen where they are the same.
func (p *loopPicture) drawWays() {
	p.put(`<g fill="none" stroke-linejoin="round">`)
	p.drawWay(worstWay, func(s *part) float64 { return s.worst }, func(s *spot) float64 { return s.worst })
	p.drawWay(nowWay, func(s *part) float64 { return s.now }, func(s *spot) float64 { return s.now })
	p.put(`</g>`)
}

const (
	worstWay = `class="worst" stroke="#999" stroke-width="5" stroke-dasharray="9 6"`
	nowWay   = `class="now" stroke="#111" stroke-width="1.8"`
)

// drawWay draws a line over what is in series and on along the first cables, and one for
// each branch. behind is the voltage behind a part, at that of a spot.
func (p *loopPicture) drawWay(style string, behind func(*part) float64, at func(*spot) float64) {
	way, last := []point(nil), p.loop.Supply.V
	for i := range p.parts {
		s, v := &p.parts[i], behind(&p.parts[i])
		flat := (s.to - s.from) / 6
		way = append(way, point{s.from, last}, point{s.from + flat, last}, point{s.to - flat, v}, point{s.to, v})
		last = v
	}
	heads, next := p.branches()
	for i, c := range heads {
		if i > 0 {
			from := p.spotOf(p.loop.Cables[c].Behind)
			way = []point{{from.x, at(from)}}
		}
		for ; c >= 0; c = next[c] {
			s := p.spotOf(c)
			way = append(way, point{s.x, at(s)})
		}
		p.drawLine(style, way)
	}
	if len(heads) == 0 {
		p.drawLine(style, way)
	}
}

// branches divides the cables into lines that go on: the first cable of each, and the
// one that follows each; -1 where none does.
func (p *loopPicture) branches() (heads, next []int) {
	next = make([]int, len(p.loop.Cables))
	for i := range next {
		next[i] = -1
	}
	for i := range p.loop.Cables {
		before := p.loop.Cables[i].Behind
		if before >= 0 && next[before] < 0 {
			next[before] = i
			continue
		}
		heads = append(heads, i)
	}
	return heads, next
}

// drawLine draws what of a line is not below the axis.
func (p *loopPicture) drawLine(style string, way []point) {
	d, on := sketch{}, false
	for i := 1; i < len(way); i++ {
		a, b := way[i-1], way[i]
		if a.v < p.volts.low && b.v < p.volts.low {
			on = false
			continue
		}
		a, b = p.insideAxis(a, b), p.insideAxis(b, a)
		if !on {
			d.put("M%v %v", a.x, p.volts.at(a.v))
		}
		d.put("L%v %v", b.x, p.volts.at(b.v))
		on = b == way[i]
	}
	if d.b.Len() > 0 {
		p.put(`<path %s d="%s"/>`, style, d.b.String())
	}
}

// insideAxis is a, or where the line to b comes up into the axis.
func (p *loopPicture) insideAxis(a, b point) point {
	if a.v >= p.volts.low {
		return a
	}
	share := (p.volts.low - a.v) / (b.v - a.v)
	return point{a.x + px(share)*(b.x-a.x), p.volts.low}
}

// drawCableNames writes the names of those cables that are long enough in the plot,
// where nothing else stands.
func (p *loopPicture) drawCableNames() {
	taken := p.marks()
	p.put(`<g stroke="#fff" stroke-width="4" stroke-linejoin="round" paint-order="stroke">`)
	for i := range p.loop.Cables {
		from, to := p.spotOf(p.loop.Cables[i].Behind), p.spotOf(i)
		name := shortened(p.loop.Cables[i].Name, mostOfName)
		w := textWidth(name, smallSize)
		if w > to.x-from.x {
			continue
		}
		for _, a := range p.besideCable(from, to, w) {
			if a.top > p.top && a.bottom < p.bottom && !a.meetsAny(taken) {
				p.text(a.left, a.base(smallSize), name, `class="cable"`)
				taken = append(taken, a)
				break
			}
		}
	}
	p.put(`</g>`)
}

// besideCable are places for a name of a width above a cable and below it, the best one
// first.
func (p *loopPicture) besideCable(from, to *spot, width px) (all []area) {
	y, slope := p.volts.at(from.now), (p.volts.at(to.now)-p.volts.at(from.now))/(to.x-from.x)
	for _, share := range []px{0.5, 0.25, 0.75} {
		left := from.x + share*(to.x-from.x-width)
		above, below := y+slope*(left-from.x), y+slope*(left+width-from.x)
		all = append(all, textArea(left, above-8, width, smallSize), textArea(left, below+smallSize+6, width, smallSize))
	}
	return all
}

// marks are what the marks of the devices cover.
func (p *loopPicture) marks() (all []area) {
	around := func(x px, v float64) {
		y := p.volts.at(v)
		all = append(all, area{x - worstRadius, y - worstRadius, x + worstRadius, y + worstRadius})
	}
	for i := range p.lanes {
		l := &p.lanes[i]
		around(l.x, p.Now.Devices[l.device].V)
		around(l.x, p.Worst.Devices[l.device].V)
		around(l.x, p.loop.Devices[l.device].LiftOffV)
	}
	return all
}
