package view_test

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"pgregory.net/rapid"
)

// A piece is something that is seen in a picture, with what it covers.
type piece struct {
	element, class, text string
	device               string // the title of the group that it is in
	legend               bool   // or it is a sample
	size                 float64
	left, top            float64
	right, bottom        float64
	points               [][2]float64 // of a path
	dashed               bool
	fill                 string
}

func (p *piece) middle() (x, y float64) { return (p.left + p.right) / 2, (p.top + p.bottom) / 2 }

func (p *piece) meets(q *piece) bool {
	return p.left < q.right && q.left < p.right && p.top < q.bottom && q.top < p.bottom
}

func (p *piece) String() string {
	return fmt.Sprintf("%s %q %q at %.1f %.1f to %.1f %.1f", p.element, p.class, p.text, p.left, p.top, p.right, p.bottom)
}

// An svg is a picture that was read.
type svg struct {
	width, height float64
	title, desc   string
	pieces        []*piece
	devices       []string // titles of their groups
	texts         string   // all of them, one a line
}

// group is what holds for all that is in an element.
type group struct {
	element        string
	size           float64
	bold           bool
	x, y           float64
	upright        bool
	device, legend bool
}

// A reading is an svg that is being read.
type reading struct {
	svg
	t     rapid.TB
	open  []group
	words strings.Builder
}

// readSVG reads what is known to be in these pictures; anything else fails.
func readSVG(t rapid.TB, picture []byte) *svg {
	r := &reading{t: t, open: []group{{}}}
	for d := xml.NewDecoder(strings.NewReader(string(picture))); ; {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%v\n%s", err, picture)
		}
		switch e := token.(type) {
		case xml.StartElement:
			r.begin(e)
		case xml.CharData:
			r.words.Write(e)
		case xml.EndElement:
			r.end(e.Name.Local)
		default:
			t.Fatalf("%T in the picture", e)
		}
	}
	return &r.svg
}

func (r *reading) begin(e xml.StartElement) {
	a := map[string]string{}
	for _, attr := range e.Attr {
		if attr.Name.Local == "href" || strings.HasPrefix(attr.Name.Local, "on") || strings.Contains(attr.Value, "url(") {
			r.t.Fatalf("%s refers to elsewhere: %s", e.Name.Local, attr.Value)
		}
		a[attr.Name.Local] = attr.Value
	}
	g := r.open[len(r.open)-1]
	g.element = e.Name.Local
	if size, ok := a["font-size"]; ok {
		g.size = r.number(size)
	}
	g.bold = g.bold && a["font-weight"] != "normal" || a["font-weight"] == "bold"
	g.legend = g.legend || a["class"] == "legend"
	if a["class"] == "device" && e.Name.Local == "g" {
		g.device = true
		r.devices = append(r.devices, "")
	}
	if move, ok := a["transform"]; ok {
		if n, err := fmt.Sscanf(move, "translate(%f %f) rotate(-90)", &g.x, &g.y); n != 2 || err != nil {
			r.t.Fatalf("transform %q: %v", move, err)
		}
		g.upright = true
	}
	r.words.Reset()
	r.open = append(r.open, g)
	r.piece(e.Name.Local, a, &g)
}

func (r *reading) piece(element string, a map[string]string, g *group) {
	p := &piece{element: element, class: a["class"], legend: g.legend, size: g.size, fill: a["fill"]}
	_, p.dashed = a["stroke-dasharray"]
	if g.device && len(r.devices) > 0 {
		p.device = r.devices[len(r.devices)-1]
	}
	switch element {
	case "g", "title", "desc":
		return
	case "svg":
		r.width, r.height = r.number(a["width"]), r.number(a["height"])
		if a["viewBox"] != "0 0 "+a["width"]+" "+a["height"] {
			r.t.Fatalf("viewBox %q of a picture of %s by %s", a["viewBox"], a["width"], a["height"])
		}
		return
	case "rect":
		p.right, p.bottom = r.number(a["width"]), r.number(a["height"])
	case "circle":
		x, y, radius := r.number(a["cx"]), r.number(a["cy"]), r.number(a["r"])
		p.left, p.top, p.right, p.bottom = x-radius, y-radius, x+radius, y+radius
	case "path":
		r.path(p, a["d"])
	case "text":
		p.left, p.bottom = r.number(a["x"]), r.number(a["y"]) // moved when its words are known
		p.right = map[string]float64{"": 0, "middle": 0.5, "end": 1}[a["text-anchor"]]
	default:
		r.t.Fatalf("element %s", element)
	}
	r.pieces = append(r.pieces, p)
}

func (r *reading) end(element string) {
	g, words := r.open[len(r.open)-1], r.words.String()
	r.open = r.open[:len(r.open)-1]
	switch {
	case element == "title" && g.device:
		r.devices[len(r.devices)-1] = words
	case element == "title":
		r.title = words
	case element == "desc":
		r.desc = words
	case element == "text":
		p := r.pieces[len(r.pieces)-1]
		p.text = words
		r.texts += words + "\n"
		p.cover(&g)
	}
}

// cover gives a text what it covers.
func (p *piece) cover(g *group) {
	width := widthOf(p.text) * g.size
	if g.bold {
		width *= 1.12
	}
	x, y := p.left-p.right*width, p.bottom
	p.left, p.right, p.top, p.bottom = x, x+width, y-0.8*g.size, y+0.24*g.size
	if g.upright {
		p.left, p.right, p.top, p.bottom = g.x+p.top, g.x+p.bottom, g.y-p.right, g.y-p.left
	}
}

func (r *reading) number(s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		r.t.Fatalf("number %q", s)
	}
	return x
}

var pathParts = regexp.MustCompile(`[MLHVmlhvz]|-?[0-9.]+`)

// path finds what a path of straight lines covers.
func (r *reading) path(p *piece, d string) {
	x, y, first := 0.0, 0.0, true
	var command string
	parts := pathParts.FindAllString(d, -1)
	next := func() float64 {
		if len(parts) == 0 {
			r.t.Fatalf("path %q ends too early", d)
		}
		n := r.number(parts[0])
		parts = parts[1:]
		return n
	}
	for len(parts) > 0 {
		if strings.ContainsAny(parts[0], "MLHVmlhvz") {
			command, parts = parts[0], parts[1:]
		}
		switch command {
		case "M", "L":
			x, y = next(), next()
		case "m", "l":
			x, y = x+next(), y+next()
		case "H":
			x = next()
		case "h":
			x += next()
		case "V":
			y = next()
		case "v":
			y += next()
		}
		if command != "z" {
			p.points = append(p.points, [2]float64{x, y})
		}
		if first {
			p.left, p.top, p.right, p.bottom, first = x, y, x, y, false
		}
		p.left, p.right = min(p.left, x), max(p.right, x)
		p.top, p.bottom = min(p.top, y), max(p.bottom, y)
	}
}

// widthOf is the width of a text in a font that is among the widest in use, as a
// multiple of its size.
func widthOf(text string) (width float64) {
	for _, c := range text {
		switch {
		case c >= ' ' && int(c-' ') < len(advances):
			width += float64(advances[c-' ']) / 1000
		case c < 0x1100:
			width += 0.85
		default:
			width++
		}
	}
	return width
}

// advances are the widths of the printable ASCII characters in thousandths.
//
// Source: DejaVu Sans 2.37, table hmtx.
var advances = [...]int{
	318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337,
	636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531,
	1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
	603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500,
	500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612,
	635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
}
