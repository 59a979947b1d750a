package view_test

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"looptone/cmd/looptone/view"
	"looptone/sim/loop"
)

func TestLoopPictures(t *testing.T) {
	atOneEnd := func(mA float64) *loop.Budget {
		l := treeOf(4, 15).Loop
		for i := range l.Devices {
			l.Devices[i].Behind = 3
		}
		return budgetOf(l, slices.Repeat([]float64{4}, 15), slices.Repeat([]float64{mA}, 15))
	}
	noLength := treeOf(3, 3).Loop
	for i := range noLength.Cables {
		noLength.Cables[i].LengthM = 0
	}
	for name, b := range map[string]*loop.Budget{
		"15 devices side by side":         trapOf(10.5),
		"15 devices at one end":           atOneEnd(4),
		"currents that cannot flow":       atOneEnd(21.5),
		"64 devices on 100 segments":      treeOf(100, 64),
		"a device and a segment":          treeOf(1, 1),
		"devices here and there":          treeOf(12, 8),
		"no length":                       budgetOf(noLength, []float64{4, 4, 4}, []float64{4, 21.5, 4}),
		"no device":                       budgetOf(&loop.Loop{Supply: loop.Supply{V: 24}, ResistorOhm: 250}, nil, nil),
		"nothing but a supply":            budgetOf(&loop.Loop{Supply: loop.Supply{V: 24}}, nil, nil),
		`<"signs" & 'letters' of XML>]]>`: renamed(treeOf(3, 6)),
	} {
		t.Run(name, func(t *testing.T) { checkPicture(t, name, b) })
	}
}

func TestLoopPictureOfTheTrap(t *testing.T) {
	said := readSVG(t, view.AppendLoopPicture(nil, "trap", trapOf(10.5)))
	for _, want := range []string{
		"The supply of 24.0 V carries 52 mA now, and 60 mA at the worst currents. Dark: 2 of 15 devices.",
		"PT-114 dark",
		"PT-115 dark",
		"dark: was left with 9.0 V",
		"takes 13.0 V now",
	} {
		if !strings.Contains(said.texts, want+"\n") {
			t.Errorf("it does not say %q:\n%s", want, said.texts)
		}
	}
}

// What was too little does not look like enough: 10.4999 V are no 10.50 V.
func TestLoopPictureOfAlmostEnough(t *testing.T) {
	l := &loop.Loop{Supply: loop.Supply{V: 11.4999}, ResistorOhm: 250, Devices: []loop.Device{{Name: "PT-1", Behind: loop.Source, LiftOffV: 10.5}}}
	said := readSVG(t, view.AppendLoopPicture(nil, "x", budgetOf(l, []float64{4}, []float64{4})))
	if want := "\ndark: was left with 10.49 V\n"; !strings.Contains(said.texts, want) {
		t.Errorf("no %q in\n%s", want, said.texts)
	}
}

// Room is made for the widest of the usual fonts.
func TestTextWidth(t *testing.T) {
	for i, thousandths := range advances {
		c := string(rune(' ' + i))
		if got, want := view.TextWidth(c), float64(thousandths)/1000; got < want {
			t.Errorf("%q is taken to be %v wide, want at least %v", c, got, want)
		}
	}
}

func TestLoopPictureOfRandomLoops(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, now, worst := drawPicturedLoop(t)
		checkPicture(t, drawName(t, "line"), budgetOf(l, now, worst))
	})
}

// checkPicture reads a picture back and holds it against its budget.
func checkPicture(t rapid.TB, name string, b *loop.Budget) {
	t.Helper()
	drawn := view.AppendLoopPicture([]byte("before"), name, b)
	if again := view.AppendLoopPicture([]byte("before"), name, b); !bytes.Equal(drawn, again) {
		t.Fatalf("two pictures of the same differ")
	}
	drawn, ok := bytes.CutPrefix(drawn, []byte("before"))
	if !ok {
		t.Fatalf("what stood before is gone")
	}
	s := readSVG(t, drawn)
	if s.title != name+": voltage along the line" || s.desc == "" {
		t.Fatalf("title %q, description %q", s.title, s.desc)
	}
	known := slices.ContainsFunc(b.Loop.Devices, func(d loop.Device) bool { return d.LiftOffV > 0 })
	if strings.Contains(s.texts, "\nlift-off voltage\n") != known {
		t.Fatalf("lift-off voltages are known: %t; in the legend: %t", known, !known)
	}
	checkPieces(t, s)
	p := &picture{svg: s, budget: b, t: t}
	p.readAxes()
	p.checkWays()
	p.checkDevices()
	p.checkList()
}

// checkPieces: all within the picture, no text small or upon another.
func checkPieces(t rapid.TB, s *svg) {
	var texts []*piece
	for _, p := range s.pieces {
		if p.left < 0 || p.top < 0 || p.right > s.width || p.bottom > s.height {
			t.Fatalf("%v is not within %v by %v", p, s.width, s.height)
		}
		if p.element == "text" {
			texts = append(texts, p)
		}
	}
	for i, p := range texts {
		if p.class == "cable" {
			for _, q := range s.pieces {
				if q.device != "" && q.class != "" && p.meets(q) {
					t.Fatalf("%v covers %v", p, q)
				}
			}
		}
		if p.size < 12 {
			t.Fatalf("%v is of size %v", p, p.size)
		}
		for _, q := range texts[:i] {
			if p.meets(q) {
				t.Fatalf("%v stands upon %v", p, q)
			}
		}
	}
}

// A picture is one that is held against its budget.
type picture struct {
	*svg
	budget *loop.Budget
	t      rapid.TB

	volts, metres axis
	low, high     float64 // volts
}

// An axis turns places into numbers, by two of its ticks.
type axis struct{ place, number, perNumber float64 }

func (a *axis) at(x float64) float64 { return a.place + (x-a.number)*a.perNumber }

// readAxes reads the ticks, and wants them plain and at equal distances. The line of a
// tick stands before its text.
func (p *picture) readAxes() {
	var volts, metres [][2]float64
	for i, q := range p.pieces {
		if q.class != "volts" && q.class != "metres" {
			continue
		}
		n, err := strconv.ParseFloat(q.text, 64)
		if err != nil {
			p.t.Fatal(err)
		}
		if q.class == "volts" {
			volts = append(volts, [2]float64{n, p.pieces[i-1].top})
		} else {
			metres = append(metres, [2]float64{n, p.pieces[i-1].left})
		}
	}
	p.volts = p.axis(volts)
	p.low, p.high = volts[0][0], volts[len(volts)-1][0]
	if p.low > 0 || p.high < p.budget.Loop.Supply.V {
		p.t.Fatalf("the axis goes from %v V to %v V, the supply has %v V", p.low, p.high, p.budget.Loop.Supply.V)
	}
	if -p.low > p.high {
		p.t.Fatalf("most of the axis, from %v V to %v V, is below zero", p.low, p.high)
	}
	farthest := 0.0
	for c := range p.budget.Loop.Cables {
		at, _, _ := p.spot(c)
		farthest = max(farthest, at)
	}
	if farthest >= 0.01 {
		p.metres = p.axis(metres)
	} else if len(metres) > 0 {
		p.t.Fatalf("an axis of metres without any")
	}
}

func (p *picture) axis(ticks [][2]float64) axis {
	if len(ticks) < 3 {
		p.t.Fatalf("%d ticks", len(ticks))
	}
	a := axis{ticks[0][1], ticks[0][0], (ticks[1][1] - ticks[0][1]) / (ticks[1][0] - ticks[0][0])}
	step := ticks[1][0] - ticks[0][0]
	leading := step / math.Pow(10, math.Floor(math.Log10(step)+1e-9))
	if !slices.ContainsFunc([]float64{1, 2, 5}, func(n float64) bool { return math.Abs(leading-n) < 1e-6 }) {
		p.t.Fatalf("a step of %v", step)
	}
	for _, tick := range ticks {
		p.near("tick", tick[1], a.at(tick[0]))
	}
	return a
}

// near wants a place to be right within what two roundings to the hundredth come to.
func (p *picture) near(what string, got, want float64) {
	p.t.Helper()
	if math.Abs(got-want) > 0.1 {
		p.t.Fatalf("%s is at %v, want %v", what, got, want)
	}
}

// shown is the place of a voltage, or the lower end of the axis.
func (p *picture) shown(v float64) float64 { return p.volts.at(max(v, p.low)) }

// spot is where the far end of a cable is, or the source.
func (p *picture) spot(cable int) (metres, now, worst float64) {
	b := p.budget
	if cable == loop.Source {
		return 0, b.Now.SourceV, b.Worst.SourceV
	}
	for c := cable; c != loop.Source; c = b.Loop.Cables[c].Behind {
		metres += b.Loop.Cables[c].LengthM
	}
	return metres, b.Now.CableV[cable], b.Worst.CableV[cable]
}

// checkWays looks for every corner of the two ways: at the supply, at the far end of each
// cable, and where one goes on below the axis.
func (p *picture) checkWays() {
	corners := map[string][][2]float64{}
	for _, q := range p.pieces {
		if q.element == "path" && q.device == "" && !q.legend && (q.class == "now" || q.class == "worst") {
			if q.dashed != (q.class == "worst") {
				p.t.Fatalf("%v is dashed: %t", q, q.dashed)
			}
			corners[q.class] = append(corners[q.class], q.points...)
		}
	}
	look := func(class string, x, v float64) {
		if v < p.low {
			return
		}
		if !slices.ContainsFunc(corners[class], func(c [2]float64) bool {
			return math.Abs(c[0]-x) < 0.1 && math.Abs(c[1]-p.volts.at(v)) < 0.1
		}) {
			p.t.Fatalf("the line of %s misses %.2f V at %v", class, v, x)
		}
	}
	look("now", corners["now"][0][0], p.budget.Loop.Supply.V)
	look("worst", corners["now"][0][0], p.budget.Loop.Supply.V)
	if p.metres == (axis{}) {
		return
	}
	for c := range len(p.budget.Loop.Cables) + 1 {
		metres, now, worst := p.spot(c - 1)
		look("now", p.metres.at(metres), now)
		look("worst", p.metres.at(metres), worst)
	}
	for i, c := range p.budget.Loop.Cables {
		from, _, before := p.spot(c.Behind)
		to, _, behind := p.spot(i)
		if share := (before - p.low) / (before - behind); share > 0 && share < 1 {
			look("worst", p.metres.at(from+share*(to-from)), p.low) // it leaves the axis on its way
		}
	}
}

// checkDevices reads the marks of each device back.
func (p *picture) checkDevices() {
	b := p.budget
	if len(p.devices) != len(b.Loop.Devices) {
		p.t.Fatalf("%d devices in the picture, want %d", len(p.devices), len(b.Loop.Devices))
	}
	for i := range b.Loop.Devices {
		d, now, worst := &b.Loop.Devices[i], &b.Now.Devices[i], &b.Worst.Devices[i]
		marks, label := p.marksOf(d.Name)
		dark, mark := now.Dark != loop.Lit, marks["now"]
		if dark {
			mark = marks["now dark"]
		}
		if mark == nil || (mark.fill == "#fff") != dark || strings.HasSuffix(label, " dark") != dark {
			p.t.Fatalf("%s is dark: %t; its mark is %v, its label %q", d.Name, dark, mark, label)
		}
		x, y := mark.middle()
		p.near(d.Name+" now", y, p.shown(now.V))
		p.checkPlace(d, x)

		if below := marks["worst below"]; worst.V < p.low-1e-6 {
			if below == nil {
				p.t.Fatalf("%s at the worst currents, %v V, is not marked", d.Name, worst.V)
			}
			p.near(d.Name+" below the axis", below.bottom, p.volts.at(p.low))
		} else {
			atX, atY := marks["worst"].middle()
			p.near(d.Name+" at worst", atY, p.volts.at(worst.V))
			p.near(d.Name+" at worst", atX, x)
		}

		least := marks["lift-off"]
		if (least == nil) != (d.LiftOffV == 0) {
			p.t.Fatalf("%s with lift-off voltage %v has mark %v", d.Name, d.LiftOffV, least)
		}
		if least != nil {
			p.near(d.Name+" lift-off", least.top, p.volts.at(d.LiftOffV))
		}
	}
}

// marksOf are the marks of a device by their class, and its label.
func (p *picture) marksOf(name string) (marks map[string]*piece, label string) {
	marks = map[string]*piece{}
	for _, q := range p.pieces {
		if !strings.HasPrefix(q.device, name+": ") {
			continue
		}
		if q.element == "text" {
			label = q.text
		} else if q.class != "" {
			marks[q.class] = q
		}
	}
	return marks, label
}

// checkPlace wants a device at its distance or, where others stand, to the right of it.
func (p *picture) checkPlace(d *loop.Device, x float64) {
	if p.metres == (axis{}) {
		return
	}
	metres, _, _ := p.spot(d.Behind)
	at := p.metres.at(metres)
	if x < at-0.1 {
		p.t.Fatalf("%s is at %v, to the left of %v", d.Name, x, at)
	}
	const lane = 18
	if x > at+0.1 && math.Abs(x-lane-p.metres.at(0)) > 0.1 && !p.device(x-lane) {
		p.t.Fatalf("%s is at %v, to the right of %v where nobody stands", d.Name, x, at)
	}
}

// device reports whether the mark of one is there.
func (p *picture) device(at float64) bool {
	return slices.ContainsFunc(p.pieces, func(q *piece) bool {
		x, _ := q.middle()
		return q.element == "circle" && q.device != "" && math.Abs(x-at) < 0.1
	})
}

// checkList reads the numbers of each device in the list.
func (p *picture) checkList() {
	b := p.budget
	for i := range b.Loop.Devices {
		d, now := &b.Loop.Devices[i], &b.Now.Devices[i]
		row := p.rowOf(d.Name)
		if len(row) != 5 {
			p.t.Fatalf("the row of %s is %v", d.Name, row)
		}
		p.sameNumber(row[1], now.V)
		p.sameNumber(row[2], b.Worst.Devices[i].V)
		if d.LiftOffV > 0 {
			p.sameNumber(row[3], d.LiftOffV)
		} else if row[3].text != "not known" {
			p.t.Fatalf("lift-off voltage %q", row[3].text)
		}
		want := map[loop.Dark]string{loop.TooLow: "dark: ", loop.Backwards: "dark: its leads are swapped"}[now.Dark]
		if !strings.HasPrefix(row[4].text, want) || want == "" && strings.Contains(row[4].text, "dark") {
			p.t.Fatalf("%s is said to be %q", d.Name, row[4].text)
		}
	}
}

// rowOf are the texts to the right of a name in the list, up to the next block.
func (p *picture) rowOf(name string) (row []*piece) {
	shown := name
	if runes := []rune(name); len(runes) > 32 {
		shown = string(runes[:31]) + "…"
	}
	for i, q := range p.pieces {
		if q.element == "text" && q.size == 13 && q.text == shown && i+5 <= len(p.pieces) {
			return p.pieces[i : i+5]
		}
	}
	return nil
}

func (p *picture) sameNumber(got *piece, want float64) {
	n, err := strconv.ParseFloat(got.text, 64)
	if err != nil || math.Abs(n-want) > 0.005+1e-9 || got.text == "-0.00" {
		p.t.Fatalf("%q stands in the list, want %v", got.text, want)
	}
}
