//go:build unix

package main

import (
	"encoding/json"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	cdpinput "github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"looptone/sim/linefile"
)

func decode(tb testing.TB, text []byte, to any) {
	tb.Helper()
	if err := json.Unmarshal(text, to); err != nil {
		tb.Fatalf("%v: %s", err, text)
	}
}

// A point is somewhere in the picture, in CSS pixels.
type point struct{ X, Y float64 }

func (w *tab) point(expression string) (p point) {
	w.tb.Helper()
	decode(w.tb, eval[[]byte](w, expression), &p)
	return p
}

// mouseOnMessage clicks where a message stands in the lanes.
func mouseOnMessage(w *tab, message string) chromedp.Action[chromedp.Void] {
	w.tb.Helper()
	p := w.point(`(() => {
		const m = ` + message + `, { lanes, canvas } = traffic, box = canvas.getBoundingClientRect();
		return { x: box.left + lanes.x((m.start + m.end) / 2), y: box.top + lanes.laneY(lanes.lane.get(m.from)) + lanes.step / 2 };
	})()`)
	return chromedp.MouseClickXY(p.X, p.Y)
}

// drag moves what is in the middle of an element to the right.
func (w *tab) drag(element string, by float64) {
	w.tb.Helper()
	p := w.point("onlooker.place(" + element + ")")
	w.do(chromedp.DragAndDropXY(p.X, p.Y, p.X+by, p.Y, 5))
}

// wheel turns the wheel of the mouse over an element.
func (w *tab) wheel(element string, by float64) {
	w.tb.Helper()
	p := w.point("onlooker.place(" + element + ")")
	// It wants a DeltaX, and 0 would be left out.
	call(w, cdpinput.DispatchMouseEvent, cdpinput.DispatchMouseEventParams{Type: cdpinput.DispatchMouseEventTypeMouseWheel, X: p.X, Y: p.Y, DeltaX: 1e-9, DeltaY: by})
}

// device: a click on the wires opens a device. Every stage has its value now, says what
// it does and what each setting does, and draws its curve with the working point.
func (b *browser) device(t *testing.T) {
	w := b.tab(t, pictureSizes[1]).open(serve(t), false)
	for i, d := range linefile.Demonstration().Devices {
		tag := quoted(d.Tag)
		w.click(`[...document.querySelectorAll("#wires .device")].find((b) => b.title.startsWith(` + tag + `))`)
		w.await(`document.querySelector("#device h2").textContent === ` + tag + ` && deviceView.opened?.tag === ` + tag)
		if i == 0 {
			w.await(`!document.querySelector("#device").hidden && document.querySelector("[data-panel=device]").getAttribute("aria-expanded") === "true"`)
		}
	}
	for _, tag := range [...]string{"LT-103", "FC-105"} { // a table; a controller, a transfer function
		eval[bool](w, `watch.open(store.hello.devices.findIndex((d) => d.tag === `+quoted(tag)+`)), true`)
		w.await(`deviceView.opened?.tag === ` + quoted(tag))
		stages := eval[int](w, `document.querySelectorAll("#device [role=tab]").length`)
		if stages < 6 {
			t.Errorf("%s has %d stages", tag, stages)
		}
		curves := 0
		for range stages {
			curves += b.stage(t, w)
			w.press(kb.ArrowRight)
		}
		if curves < 2 {
			t.Errorf("%s has %d curves with a working point", tag, curves)
		}
	}
	before := w.text("#device .bead-value")
	w.await(`document.querySelector("#device .bead-value").textContent !== ` + quoted(before)) // values move
	w.click(`deviceView.behind`)
	w.await(`document.querySelector("#device h2").textContent !== "FC-105"`)
	w.press(kb.Escape)
	w.await(`document.querySelector("#side").hidden`)
}

// stage looks at the chosen stage, and counts its curve if a working point is on it.
func (b *browser) stage(t *testing.T, w *tab) (curves int) {
	eval[bool](w, `document.querySelector("#device [role=tab][aria-selected=true]").focus() || true`)
	var s struct {
		Title, Value, Says, Dials string
		Named, Drawn, Point       bool
	}
	decode(t, eval[[]byte](w, `(() => {
		const d = deviceView, tab = document.querySelector("#device [role=tab][aria-selected=true]");
		const dials = [...d.dials.querySelectorAll("dd")].some((dd) => !dd.textContent.trim()) ? "empty" : "";
		const c = d.curve.canvas, drawn = c.hidden || onlooker.colours(c) > 4, curve = d.curve.curve;
		const point = !c.hidden && curve.kind === "input" && d.curve.x >= curve.x.from && d.curve.x <= curve.x.to;
		return { title: d.title.textContent, value: tab.querySelector(".bead-value").textContent, says: d.says.textContent,
			dials, drawn, point, named: c.hidden || c.getAttribute("aria-label") !== "" };
	})()`), &s)
	if s.Title == "" || s.Value == "" || s.Says == "" || s.Dials != "" || !s.Named || !s.Drawn {
		t.Errorf("a stage shows %+v", s)
	}
	if s.Point {
		return 1
	}
	return 0
}

// trends: a picture a device of what it has measured, as value, percent or current.
func (b *browser) trends(t *testing.T) {
	w := b.tab(t, pictureSizes[1]).open(serve(t), false)
	w.clickOn("Trends")
	w.await(`!document.querySelector("#trends").hidden`)
	devices := len(linefile.Demonstration().Devices)
	for _, kind := range [...]string{"percent", "current", "process variable"} {
		w.click(`onlooker.button(` + quoted(kind) + `, document.querySelector("#trends"))`)
		w.await(`trends.rows.length === ` + strconv.Itoa(devices) + ` && trends.rows.every((r) => onlooker.colours(r.trend.plot.canvas) > 3)`)
		w.await(`trends.rows.every((r) => r.trend.shown.series[0].name === ` + quoted(kind) + ` && r.trend.shown.series[0].value.length > 0)`)
	}
	w.click(`onlooker.button("1 min", document.querySelector("#trends"))`)
	w.await(`trends.span === 60`)
	w.click(`document.querySelector("#trends .chip")`)
	w.await(`[...document.querySelectorAll("#trends figure")].filter((f) => f.hidden).length === 1`)
	w.click(`document.querySelectorAll("#trends .trend-tag")[1]`)
	w.await(`side.shown === "device" && watch.device === 1`)
}

// print: the page prints, on white whatever the screen is, without what can be clicked,
// and with all lanes, also those that had to be scrolled to.
func (b *browser) print(t *testing.T) {
	w := b.tab(t, pictureSizes[0])
	w.look("dark")
	w.open(serve(t), false)
	w.await(`look.dark`)
	eval[bool](w, `addEventListener("beforeprint", () => { globalThis.printedIn = document.documentElement.dataset.look }), true`)
	printed := call(w, page.PrintToPDF, page.PrintToPDFParams{})
	if len(printed.Data) < 10_000 {
		t.Errorf("the print has %d bytes", len(printed.Data))
	}
	w.await(`globalThis.printedIn === "light" && look.dark`)
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	w.await(`!document.querySelector("#transport").checkVisibility() && document.querySelector("#wires").checkVisibility()`)

	w = b.tab(t, pictureSizes[0]).open(serve(t, fifteenLine(t)), false)
	w.clickOn("Trends")
	w.await(`traffic.overflows`)
	eval[bool](w, `traffic.scroll.scrollTop = 50, true`)
	w.await(`traffic.lanes.top > 0`)
	eval[bool](w, `dispatchEvent(new Event("beforeprint"))`)
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"})
	w.await(`!document.querySelector("#transport").checkVisibility()`)
	w.await(`traffic.lanes.top === 0 && traffic.lanes.height >= traffic.lanes.leastHeight()`)
	w.await(`document.querySelector("#lanes").getBoundingClientRect().bottom >= traffic.canvas.getBoundingClientRect().bottom`)
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{})
	eval[bool](w, `dispatchEvent(new Event("afterprint"))`)
	w.await(`traffic.overflows && traffic.lanes.height === traffic.scroll.clientHeight`)
}
