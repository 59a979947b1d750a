package view

import (
	"fmt"
	"math"
	"strings"

	"looptone/serialio/fsk/measure"
)

// AppendWaveformPicture draws what a waveform came to: the eye, what was measured, and a
// piece of the signal with the edges of its bits. The picture is SVG that needs nothing
// from elsewhere, tells everything without colour, and stays dark on white where a page
// is turned light on black.
func AppendWaveformPicture(dst []byte, name string, r *measure.Report) []byte {
	p := waveformPicture{Report: r, name: name, verdicts: r.Verdicts()}
	p.layOut()
	p.draw()
	return append(dst, p.b.Bytes()...)
}

// A waveformPicture is the picture of a waveform that is being drawn.
type waveformPicture struct {
	sketch
	*measure.Report
	name     string
	verdicts []measure.Verdict

	head     []block
	facts    []fact
	eye      area
	piece    area
	volts    scale // of the piece, in mV or units
	bits     scale
	height   px
	unit     string
	factor   float64
	caution  block
	pieceTop px
}

// A fact is a line of what was measured, beside the eye.
type fact struct{ name, says string }

// Measures of the picture.
const (
	waveformWidth px = 1000
	eyeWidth      px = 420
	eyeHeight     px = 300
	pieceHeight   px = 220
	factsGap      px = 56
	factColumn    px = 190
)

func (p *waveformPicture) layOut() {
	p.head = []block{
		blockOf(shortened(p.name, 60)+": tones on the loop", 22, true, waveformWidth),
		blockOf(waveformCounts(p.Report)+". "+waveformAnswer(p.verdicts), 15, false, waveformWidth),
	}
	p.caution = blockOf("Cautions. "+strings.Join(Cautions, " "), textSize, false, waveformWidth)
	p.factor, p.unit = 1, "units"
	if v, ok := p.Volts(1); ok {
		p.factor, p.unit = v*1000, "mV"
	}
	for _, q := range quantitiesOf(p.Report) {
		p.facts = append(p.facts, fact{q.name, q.digest()})
	}
	e := &p.Edges
	p.facts = append(p.facts, fact{"edges off an even grid", fmt.Sprintf("%.2f %% of a bit, rms", e.RMS*100)},
		fact{"phase jumps", fmt.Sprintf("%.1f° rms, %.1f° at most", e.JumpRMS, e.LargestJump)})

	y := pageMargin
	for i := range p.head {
		y += p.head[i].height()
	}
	y += 28
	left := pageMargin + 60
	p.eye = area{left, y, left + eyeWidth, y + eyeHeight}
	y = max(p.eye.bottom+44, y+px(len(p.facts))*lineHeight+12)
	p.pieceTop = y + 8
	p.piece = area{left, y + 30, waveformWidth - pageMargin, y + 30 + pieceHeight}
	y = p.piece.bottom + 52
	p.height = y + p.caution.height() + pageMargin
	p.scalePiece()
}

// scalePiece lets the axes hold the piece of the signal.
func (p *waveformPicture) scalePiece() {
	most := 0.0
	for _, v := range p.Glimpse.Sample {
		most = max(most, math.Abs(v*p.factor))
	}
	if most == 0 {
		most = 1
	}
	step := tickStep(2*most, 6)
	high := step * math.Ceil(most/step-1e-9)
	p.volts = scale{low: -high, high: high, step: step, from: p.piece.bottom, to: p.piece.top}
	p.bits = scale{low: -2, high: 11, step: 1, from: p.piece.left, to: p.piece.right}
}

func (p *waveformPicture) draw() {
	p.put(`<svg xmlns="http://www.w3.org/2000/svg" role="img" width="%v" height="%v" viewBox="0 0 %v %v" font-family="sans-serif" font-size="%v" fill="#111" style="color-scheme:only light">`,
		waveformWidth, p.height, waveformWidth, p.height, smallSize)
	p.hold("title", "", p.name+": tones on the loop")
	p.hold("desc", "", p.description())
	p.put(`<rect width="%v" height="%v" fill="#fff"/>`, waveformWidth, p.height)
	y := pageMargin
	for i := range p.head {
		y = p.drawBlock(y, &p.head[i])
	}
	p.drawEye()
	p.drawFacts()
	p.drawPiece()
	p.drawBlock(p.height-pageMargin-p.caution.height(), &p.caution)
	p.put(`</svg>`)
}

// description is for those who do not see the picture.
func (p *waveformPicture) description() string {
	said := []string{waveformAnswer(p.verdicts)}
	for _, f := range p.facts {
		said = append(said, f.name+": "+f.says+".")
	}
	return strings.Join(said, " ")
}

func (p *waveformPicture) drawFacts() {
	x, y := p.eye.right+factsGap, p.eye.top
	for _, f := range p.facts {
		y += lineHeight
		p.text(x, y-6, f.name)
		p.text(x+factColumn, y-6, shortened(f.says, 40))
	}
}

// shades are the steps of grey of an eye, and each is for twice as many as the one before.
const shades = 7

// drawEye draws how often the sum came to what: the more often, the darker.
func (p *waveformPicture) drawEye() {
	e := &p.Eye
	var most int64
	for _, n := range e.Count {
		most = max(most, n)
	}
	across, up := (p.eye.right-p.eye.left)/px(e.Columns), (p.eye.bottom-p.eye.top)/px(e.Rows)
	var cells [shades]strings.Builder
	for i, n := range e.Count {
		if n == 0 {
			continue
		}
		shade := max(shades-1-int(math.Log2(float64(most)/float64(n))), 0)
		x, y := p.eye.left+px(i%e.Columns)*across, p.eye.bottom-px(i/e.Columns+1)*up
		fmt.Fprintf(&cells[shade], "M%v %vh%vv%vh%vz", x, y, across, up, -across)
	}
	for shade := range cells {
		if cells[shade].Len() > 0 {
			grey := 0xd8 - shade*0xd8/(shades-1)
			p.put(`<path class="eye" fill="#%02x%02x%02x" d="%s"/>`, grey, grey, grey, cells[shade].String())
		}
	}
	p.put(`<path d="M%v %vV%vH%v" fill="none" stroke="#111"/>`, p.eye.left, p.eye.top, p.eye.bottom, p.eye.right)
	sum := scale{low: -e.Reach, high: e.Reach, from: p.eye.bottom, to: p.eye.top}
	p.text(p.eye.left-8, sum.at(1)+4, "mark", atEnd)
	p.text(p.eye.left-8, sum.at(0)+4, "0", atEnd)
	p.text(p.eye.left-8, sum.at(-1)+4, "space", atEnd)
	for i, label := range [...]string{"one bit before", "middle of a bit", "one bit behind"} {
		x := p.eye.left + (p.eye.right-p.eye.left)*px(i)/2
		p.put(`<path d="M%v %vv6" stroke="#111"/>`, x, p.eye.bottom)
		p.text(x, p.eye.bottom+20, label, centred)
	}
	p.text(p.eye.left, p.eye.top-10, fmt.Sprintf("what a receiver's sum of each bit comes to, over %d bits", e.Bits))
}

// drawPiece draws the signal around a start bit, with the tone of each run.
func (p *waveformPicture) drawPiece() {
	g := &p.Glimpse
	p.text(p.piece.left, p.pieceTop+8, fmt.Sprintf("the signal around the start bit at %.4f s, less what lies under the tones", g.Seconds))
	p.volts.ticks(func(v float64, label string) {
		y := p.volts.at(v)
		p.put(`<path d="M%v %vH%v" stroke="#ddd"/>`, p.piece.left, y, p.piece.right)
		p.text(p.piece.left-8, y+4, label, atEnd)
	})
	p.bits.ticks(func(b float64, label string) {
		p.put(`<path d="M%v %vv6" stroke="#111"/>`, p.bits.at(b), p.piece.bottom)
		p.text(p.bits.at(b), p.piece.bottom+20, label, centred)
	})
	p.text((p.piece.left+p.piece.right)/2, p.piece.bottom+38, "bits behind the start bit's edge", centred)
	p.upright(pageMargin+smallSize, (p.piece.top+p.piece.bottom)/2+textWidth(p.unit, smallSize)/2, p.unit)
	for _, at := range g.Edges {
		p.put(`<path class="edge" d="M%v %vV%v" stroke="#999" stroke-dasharray="3 3"/>`, p.bits.at(at), p.piece.top, p.piece.bottom)
	}
	p.drawSamples()
}

func (p *waveformPicture) drawSamples() {
	var d strings.Builder
	for i, v := range p.Glimpse.Sample {
		if !p.bits.shows(p.Glimpse.Bit[i]) {
			continue
		}
		word := "L"
		if d.Len() == 0 {
			word = "M"
		}
		fmt.Fprintf(&d, "%s%v %v", word, p.bits.at(p.Glimpse.Bit[i]), p.volts.at(v*p.factor))
	}
	if d.Len() > 0 {
		p.put(`<path class="signal" fill="none" stroke="#111" stroke-width="1.5" stroke-linejoin="round" d="%s"/>`, d.String())
	}
}
