//go:build unix

package main

import (
	"math"
	"slices"
	"strconv"
	"testing"

	"github.com/chromedp/chromedp/kb"
)

// pause: who has the key stops the line for everybody, who is told who did it; steps on by
// one message; and slows it. Who has no key stops his own view alone.
func (b *browser) pause(t *testing.T) {
	s := serve(t)
	mine, other := b.tab(t, pictureSizes[0]).open(s, true), b.tab(t, pictureSizes[0]).open(s, false)
	mine.await(`document.querySelector("#key-state").textContent === "You hold the key."`)
	other.await(`document.querySelector("#key-state").textContent === "You are watching."`)
	mine.clickOn("Help")
	mine.click(`document.querySelector("#by")`)
	mine.press("Anna")
	mine.press(kb.Escape)
	mine.await(`!document.querySelector("#help").open && store.by === "Anna"`)
	mine.clickOn("Pause")
	stands := `document.querySelector("#state").textContent === "Stopped for everybody by Anna."`
	both := []*tab{mine, other}
	for _, w := range both {
		w.await(stands)
		eval[[]float64](w, `onlooker.pictures(0.1)`)
	}
	clocks := []string{mine.text("#clock-now"), other.text("#clock-now")}
	eval[[]float64](mine, `onlooker.pictures(0.3)`)
	if again := []string{mine.text("#clock-now"), other.text("#clock-now")}; clocks[0] != clocks[1] || !slices.Equal(again, clocks) {
		t.Errorf("the line stands, and its clock shows %q, then %q", clocks, again)
	}

	other.allow("status of 403")
	other.clickOn("Go on") // which he cannot
	eval[[]float64](other, `onlooker.pictures(0.3)`)
	if pace := eval[float64](mine, `store.clock.pace`); pace != 0 {
		t.Errorf("somebody without the key lets the line go on: %v", pace)
	}
	other.await(stands)
	if refused := eval[int](other, `fetch("/do", { method: "POST", headers: { "Content-Type": "application/json" }, body: '{"do":"go"}' }).then((r) => r.status)`); refused != 403 {
		t.Errorf("to go on without the key is answered with %d, want 403", refused)
	}

	before := eval[int](mine, `store.messages.at(-1).n`)
	mine.click(`document.querySelector("#step-button")`)
	for _, w := range both {
		w.await(`store.messages.at(-1).n === ` + strconv.Itoa(before+1) + ` && store.clock.pace === 0 && /one message on/.test(document.querySelector("#state").textContent)`)
	}

	mine.clickOn("1/20")
	for _, w := range both {
		w.await(`store.clock.pace === 0.05 && /^Slowed to 1\/20 for everybody by Anna/.test(document.querySelector("#state").textContent)`)
		w.await(`/1\/20/.test(document.querySelector("#clock-rate").textContent)`)
	}
	rate := eval[float64](other, `(async () => {
		const line = store.lineNow(), wall = Store.wall();
		await onlooker.pictures(1);
		return (store.lineNow() - line) / (Store.wall() - wall);
	})()`)
	if math.Abs(rate-0.05) > 0.02 {
		t.Errorf("slowed to 1/20 the clock of a browser goes at %.3f", rate)
	}
	mine.clickOn("1×")
	other.await(`store.clock.pace === 1 && document.querySelector("#state").textContent === "Live, in real time."`)
}

// back: a view that looks back stands by itself, steps from message to message, plays what
// was there, and comes back to what happens now; the line goes on.
func (b *browser) back(t *testing.T) {
	w := b.tab(t, pictureSizes[0]).open(serve(t), false)
	w.await(`store.messages.length > 3`)
	w.clickOn("Pause")
	w.await(`!watch.atEdge && watch.rate === 0 && store.clock.pace === 1`)
	w.await(`/^Only this view stands, \d+\.\d s behind the line\.$/.test(document.querySelector("#state").textContent)`)
	w.click(`document.querySelector("#back-button")`)
	w.await(`watch.selected !== null`)
	first := eval[int](w, `watch.selected`)
	w.click(`document.querySelector("#back-button")`)
	w.await(`watch.selected === ` + strconv.Itoa(first-1) + ` && messagePanel.shown.n === watch.selected`)
	w.click(`document.querySelector("#step-button")`)
	w.await(`watch.selected === ` + strconv.Itoa(first))
	w.clickOn("1/4")
	w.await(`watch.rate === 0.25 && /^Only this view goes at 1\/4/.test(document.querySelector("#state").textContent)`)
	w.clickOn("Live")
	w.await(`watch.atEdge && document.querySelector("#state").textContent === "Live, in real time."`)
}

// reconnect: with the program gone the page says so and keeps what it has; when another
// one is there it goes on by itself, and the key of the one before is worth nothing.
func (b *browser) reconnect(t *testing.T) {
	s := serve(t)
	w := b.tab(t, pictureSizes[0]).open(s, true)
	w.allow("net::ERR_", "status of 403")
	s.end()
	w.await(`!store.connected && /connection is lost/.test(document.querySelector("#state").textContent)`)
	w.await(`document.querySelectorAll("#wires .device").length > 3`)
	at := eval[float64](w, `watch.time()`)
	eval[[]float64](w, `onlooker.pictures(0.2)`)
	if later := eval[float64](w, `watch.time()`); later != at {
		t.Errorf("without a line its time goes on, from %v to %v", at, later)
	}
	serve(t, "--page", s.at)
	w.await(`store.connected && document.querySelector("#state").textContent === "Live, in real time."`)
	w.await(`store.messages.length > 0 && store.lineNow() < ` + "20")
	w.clickOn("Pause")
	w.await(`store.key === "" && document.querySelector("#key-state").textContent === "You are watching."`)
	w.await(`!document.querySelector("#refused").hidden && store.clock.pace === 1`)
	w.clickOn("Hands on")
	w.await(`document.querySelector("#hands .hands-key").checkVisibility() && [...document.querySelectorAll("#hands button, #hands input, #hands select")].every((e) => e.disabled)`)
}
