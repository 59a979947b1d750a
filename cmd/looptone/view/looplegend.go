package view

import (
	"slices"
	"strings"

	"looptone/sim/loop"
)

// A block is a paragraph above or below the plot.
type block struct {
	lines []string
	size  px
	bold  bool
}

func (b *block) height() px { return px(len(b.lines)) * (b.size + 6) }

// blockOf wraps a text to fit a picture of that width.
func blockOf(text string, size px, bold bool, width px) block {
	width -= 2 * pageMargin
	if bold {
		width /= boldWidth
	}
	return block{wrapped(text, size, width), size, bold}
}

func (p *loopPicture) paragraph(text string, size px, bold bool) block {
	return blockOf(text, size, bold, p.width)
}

// drawBlock writes a block below y, and says where it ends.
func (d *sketch) drawBlock(y px, b *block) px {
	weight := "normal"
	if b.bold {
		weight = "bold"
	}
	d.put(`<g font-size="%v" font-weight="%s">`, b.size, weight)
	for _, line := range b.lines {
		y += b.size + 6
		d.text(pageMargin, y-6, line)
	}
	d.put(`</g>`)
	return y
}

func (p *loopPicture) title() string { return p.name + ": voltage along the line" }

// write writes what stands above and below the plot.
func (p *loopPicture) write() {
	p.above = []block{p.paragraph(p.title(), 22, true), p.paragraph(p.currents(), 15, false)}
	if p.beyond() {
		p.below = append(p.below, p.paragraph("Below 0 V nothing can be: the supply cannot push the worst currents through what is in series and through the cable.", textSize, true))
	}
	p.below = append(p.below, p.paragraph("Cautions. "+strings.Join(Cautions, " "), textSize, false))
}

// currents is the sum of them, and who is dark.
func (p *loopPicture) currents() string {
	said := "The supply of " + volts(p.loop.Supply.V) + " V carries " + short(p.Now.SumMA) + " mA now, and " +
		short(p.Worst.SumMA) + " mA at the worst currents."
	if n := p.darkOnes(); n > 0 {
		said += " Dark: " + short(float64(n)) + " of " + many(int64(len(p.loop.Devices)), "device", "devices") + "."
	}
	return said
}

func (p *loopPicture) darkOnes() (n int) {
	for i := range p.Now.Devices {
		if p.Now.Devices[i].Dark != loop.Lit {
			n++
		}
	}
	return n
}

// beyond reports whether a voltage is below zero.
func (p *loopPicture) beyond() bool { return p.volts.low < 0 }

// offScale reports whether a device has a voltage below the axis.
func (p *loopPicture) offScale() bool {
	for i := range p.Worst.Devices {
		if !p.volts.shows(p.Worst.Devices[i].V) {
			return true
		}
	}
	return false
}

// description is for those who do not see the picture.
func (p *loopPicture) description() string {
	said := []string{p.currents()}
	for i := range p.parts[1:] {
		s := &p.parts[1+i]
		said = append(said, "Behind "+s.name+": "+volts(s.now)+" V now, "+volts(s.worst)+" V at the worst currents.")
	}
	for i := range p.loop.Devices {
		said = append(said, p.sentence(i)+".")
	}
	return strings.Join(said, " ")
}

// A sign is something that is drawn in the plot, and what it stands for.
type sign struct {
	width px // of the sample
	draw  func(x, y px)
	says  string
}

const (
	lineSample   px = 39
	markSample   px = 2 * worstRadius
	legendHeight px = 24 // of a row
)

func (p *loopPicture) signs() (all []sign) {
	line := func(style, says string) {
		draw := func(x, y px) { p.put(`<path %s d="M%v %vh%v"/>`, style, x, y, lineSample) }
		all = append(all, sign{lineSample, draw, says})
	}
	mark := func(says string, draw func(x, y px)) {
		all = append(all, sign{markSample, func(x, y px) { draw(x+markSample/2, y) }, says})
	}
	line(nowWay, "now")
	line(worstWay, "at the worst currents")
	mark("device, now", func(x, y px) { p.nowMark(x, y, true) })
	if p.darkOnes() > 0 {
		mark("device, dark", func(x, y px) { p.nowMark(x, y, false) })
	}
	mark("device, at the worst currents", func(x, y px) { p.worstMark(x, y, true) })
	if p.offScale() {
		mark("the same, lower than shown", func(x, y px) { p.worstMark(x, y+5, false) })
	}
	if slices.ContainsFunc(p.loop.Devices, func(d loop.Device) bool { return d.LiftOffV > 0 }) {
		mark("lift-off voltage", p.liftOff)
	}
	return all
}

// eachSign calls each with where a sign stands below y, and says where the legend ends.
func (p *loopPicture) eachSign(y px, each func(x, y px, s *sign)) px {
	x := pageMargin
	for _, s := range p.signs() {
		w := s.width + 6 + textWidth(s.says, smallSize)
		if x+w > p.width-pageMargin {
			x, y = pageMargin, y+legendHeight
		}
		each(x, y+legendHeight/2, &s)
		x += w + betweenColumns
	}
	return y + legendHeight
}

func (p *loopPicture) drawLegend(y px) {
	p.put(`<g class="legend" fill="none" stroke="#111">`)
	p.eachSign(y, func(x, y px, s *sign) { s.draw(x, y) })
	p.put(`</g>`)
	p.eachSign(y, func(x, y px, s *sign) { p.text(x+s.width+6, y+4, s.says) })
}
