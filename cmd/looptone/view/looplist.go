package view

import (
	"fmt"
	"math"

	"looptone/sim/loop"
)

// A list says in numbers what the plot shows of every device: blocks of rows side by
// side, each under a heading.
type list struct {
	heading []string
	rows    [][]string
	columns []px // their widths; the first and the last one begin at the left
	blocks  int
}

const betweenColumns px = 18

// listDevices fits as many blocks side by side as there is room for.
func (p *loopPicture) listDevices() {
	p.listed.heading = []string{"device", "V now", "V at worst", "V lift-off", ""}
	for i := range p.loop.Devices {
		p.listed.rows = append(p.listed.rows, p.row(i))
	}
	p.listed.columns = make([]px, len(p.listed.heading))
	p.listed.fit(p.listed.heading, boldWidth)
	for _, row := range p.listed.rows {
		p.listed.fit(row, 1)
	}
	p.width = max(p.width, leastWidth, p.right+pageMargin, p.listed.width()+2*pageMargin)
	fit := int((p.width - 2*pageMargin) / p.listed.width())
	p.listed.blocks = max(1, min(fit, len(p.listed.rows)/4))
}

// fit makes the columns wide enough for a row, of which a text is so many times as wide
// as usual.
func (l *list) fit(row []string, times px) {
	for i, cell := range row {
		l.columns[i] = max(l.columns[i], times*textWidth(cell, textSize)+betweenColumns)
	}
}

func (l *list) width() (width px) {
	for _, w := range l.columns {
		width += w
	}
	return width
}

// inBlock is how many rows a block has.
func (l *list) inBlock() int { return (len(l.rows) + l.blocks - 1) / l.blocks }

func (l *list) height() px { return px(1+l.inBlock()) * lineHeight }

func (p *loopPicture) row(device int) []string {
	d, now, worst := &p.loop.Devices[device], &p.Now.Devices[device], &p.Worst.Devices[device]
	least := "not known"
	if d.LiftOffV > 0 {
		least = hundredths(d.LiftOffV)
	}
	return []string{shortened(d.Name, mostOfName), hundredths(now.V), hundredths(worst.V), least, p.remark(device)}
}

// remark says how a device fares, and why.
func (p *loopPicture) remark(device int) string {
	d, now, worst := &p.loop.Devices[device], &p.Now.Devices[device], &p.Worst.Devices[device]
	switch {
	case now.Dark == loop.Backwards:
		return "dark: its leads are swapped"
	case now.Dark == loop.TooLow:
		if now.WasV < 0 {
			return "dark: nothing was left for it"
		}
		return "dark: was left with " + volts(downward(now.WasV)) + " V"
	case d.LiftOffV == 0:
		return "nobody can tell if that is enough"
	case worst.V < d.LiftOffV-roundingV:
		return "enough now, too little at the worst currents"
	}
	return "enough"
}

// sentence is all that is known of a device.
func (p *loopPicture) sentence(device int) string {
	r := p.row(device)
	lift := r[3] + " V"
	if p.loop.Devices[device].LiftOffV == 0 {
		lift = r[3]
	}
	return fmt.Sprintf("%s: %s V now, %s V at the worst currents, lift-off voltage %s; %s",
		p.loop.Devices[device].Name, r[1], r[2], lift, r[4])
}

// downward is a voltage in hundredths that is not more than x.
func downward(x float64) float64 { return math.Floor(x*100+1e-6) / 100 }

// drawList writes the list from y down.
func (p *loopPicture) drawList(y px) {
	l := &p.listed
	p.put(`<g class="list" font-size="%v">`, textSize)
	for block := range l.blocks {
		x := pageMargin + px(block)*(p.width-2*pageMargin)/px(l.blocks)
		first := block * l.inBlock()
		if first >= len(l.rows) {
			break
		}
		p.drawRow(x, y, l.heading, `font-weight="bold"`)
		for n, row := range l.rows[first:min(first+l.inBlock(), len(l.rows))] {
			p.drawRow(x, y+px(1+n)*lineHeight, row)
		}
	}
	p.put(`</g>`)
}

func (p *loopPicture) drawRow(x, y px, row []string, more ...string) {
	for i, cell := range row {
		w := p.listed.columns[i]
		switch {
		case cell == "":
		case i == 0 || i == len(row)-1:
			p.text(x, y, cell, more...)
		default:
			p.text(x+w-betweenColumns, y, cell, append(more, atEnd)...)
		}
		x += w
	}
}
