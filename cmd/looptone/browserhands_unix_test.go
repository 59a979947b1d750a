//go:build unix

package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"
)

// handsOn opens the page with the key and the panel from which the line is changed.
func (b *browser) handsOn(t *testing.T) *tab {
	w := b.tab(t, pictureSizes[1]).open(serve(t), true)
	w.clickOn("Hands on")
	w.await(`!document.querySelector("#hands").hidden`)
	return w
}

// verb is the sentence that begins so, in the page.
func verb(begins string) string {
	return `hands.verbs.find((v) => v instanceof Verb && !v.element.hidden && v.name.startsWith(` + quoted(begins) + `))`
}

// choose takes a device to do something to.
func (w *tab) choose(tag string) {
	w.tb.Helper()
	eval[bool](w, `watch.open(store.hello.devices.findIndex((d) => d.tag === `+quoted(tag)+`)), true`)
	w.await(`hands.tag === ` + quoted(tag))
}

// fill writes into the fields of a sentence.
func (w *tab) fill(begins string, values ...string) {
	w.tb.Helper()
	for i, value := range values {
		filled := eval[bool](w, fmt.Sprintf(`((input) => {
			input.value = %s;
			input.dispatchEvent(new Event("input", { bubbles: true }));
			input.dispatchEvent(new Event("change", { bubbles: true }));
			return input.value === %[1]s;
		})(%s.fields[%d].input)`, quoted(value), verb(begins), i))
		if !filled {
			w.tb.Fatalf("%s: field %d does not take %q", begins, i, value)
		}
	}
}

// preview clicks on "Show first" and gives what is shown.
func (w *tab) preview(begins string) (p shownFirst) {
	w.tb.Helper()
	w.click(verb(begins) + `.show`)
	w.await(`hands.shown.verb === ` + verb(begins) + ` && hands.shown.says.textContent !== ""`)
	decode(w.tb, eval[[]byte](w, `({
		says: hands.shown.says.textContent, wrong: hands.shown.element.classList.contains("shown-wrong"),
		bytes: [...hands.shown.element.querySelectorAll(".strip-byte")].map((b) => b.textContent).join(""),
		action: hands.shown.action.textContent,
	})`), &p)
	return p
}

// A shownFirst is what is shown before something is sent or done.
type shownFirst struct {
	Says, Bytes, Action string
	Wrong               bool
}

// does shows first, and then does it.
func (w *tab) does(begins string, values ...string) {
	w.tb.Helper()
	w.fill(begins, values...)
	if p := w.preview(begins); p.Wrong {
		w.tb.Fatalf("%s: refused with %q", begins, p.Says)
	}
	w.click(`hands.shown.does`)
	w.await(`hands.shown.verb === null`)
}

// verbs: every sentence, for every kind of device, shows what would be sent or done, and
// does nothing; so does every kind of fault.
func (b *browser) verbs(t *testing.T) {
	w := b.handsOn(t)
	w.clickOn("Pause")
	w.await(`store.clock.pace === 0`)
	before := eval[string](w, `JSON.stringify([store.standing, store.lineNow(), store.messages.length])`)
	seen := map[string]bool{}
	for _, tag := range [...]string{"PT-101", "LT-103", "FC-105"} { // revisions 5 and 7, with and without a controller
		w.choose(tag)
		for _, name := range eval[[]string](w, `hands.verbs.filter((v) => v instanceof Verb && !v.element.hidden && !v.show.disabled).map((v) => v.name)`) {
			if seen[name] {
				continue
			}
			seen[name] = true
			p := w.preview(name)
			if p.Wrong && !slices.ContainsFunc(needsMore, func(n string) bool { return strings.HasPrefix(name, n) }) {
				t.Errorf("%s, %q: refused with %q", tag, name, p.Says)
			}
			if quiet := strings.HasPrefix(name, "Stop "); !p.Wrong && !quiet && (p.Bytes == "") == (p.Action == "") {
				t.Errorf("%q: shown are the message %q and the action %q, want one of them", name, p.Bytes, p.Action)
			}
		}
	}
	if len(seen) < 25 {
		t.Errorf("%d sentences, want at least 25: %v", len(seen), slices.Sorted(maps.Keys(seen)))
	}
	kinds := eval[[]string](w, `store.hello.kinds.map((k) => k.kind)`)
	for _, kind := range kinds {
		eval[bool](w, `((input) => { input.value = `+quoted(kind)+`; return input.dispatchEvent(new Event("change", { bubbles: true })); })(`+verb("Let there be ")+`.kind.input)`)
		w.await(`hands.verbs.some((v) => v instanceof FaultVerb && v.filled === ` + quoted(kind) + `)`)
		if p := w.preview("Let there be " + kind); p.Wrong || !strings.Contains(p.Action, quoted(kind)) {
			t.Errorf("fault %q: shown is %+v", kind, p)
		}
	}
	if len(kinds) < 10 {
		t.Errorf("%d kinds of fault", len(kinds))
	}
	if after := eval[string](w, `JSON.stringify([store.standing, store.lineNow(), store.messages.length])`); after != before {
		t.Errorf("showing has done something: from %s to %s", before, after)
	}
}

// needsMore are sentences that make no sense on a line on which nothing was done yet.
var needsMore = []string{"Take the second master off the line"}

// writes: what is written to a device is shown as the message that then is on the line,
// and the device does it; undo puts it back.
func (b *browser) writes(t *testing.T) {
	w := b.handsOn(t)
	w.choose("FC-105") // whose current moves
	const hold = "Hold its loop current at "
	w.fill(hold, "12.5")
	p := w.preview(hold)
	if p.Wrong || !strings.HasPrefix(p.Bytes, "ffffffffff82") {
		t.Fatalf("shown is %+v, want a request to a unique address", p)
	}
	w.click(`hands.shown.does`)
	sent := strings.TrimLeft(p.Bytes, "f")
	w.await(`store.messages.some((m) => m.hex === ` + quoted(sent) + `)`)
	w.await(`((v) => v.mode === "fixed" && Math.abs(v.ma - 12.5) < 0.01)(store.values.devices[4])`)
	w.await(`/12\.50 mA, fixed/.test(wires.cards[4].label)`)
	w.does("Undo the last change")
	w.await(`store.values.devices[4].mode === "moving"`)

	w.choose("PT-101")
	w.does("Let it talk by itself: ", "1")
	w.await(`store.values.devices[0].bursting && store.messages.some((m) => m.kind === "burst")`)
	w.does("Let it talk by itself: ", "0")
	w.await(`!store.values.devices[0].bursting`)
	polling := verb("Give it polling address ") + `.name`
	w.does(strings.Split(eval[string](w, polling), "9")[0], "9")
	w.await(`store.values.devices[0].polling === 9 && document.querySelector("#wires .polling").textContent === "9"`)
}

// actions: what is done to the wires and at a device comes about, and is undone; what was
// let go wrong is mended; back to the start is another run of the line.
func (b *browser) actions(t *testing.T) {
	w := b.handsOn(t)
	w.does("Set the supply to ", "12")
	w.await(`store.values.devices.some((d) => d.dark) && store.standing.undo !== ""`)
	w.does("Undo the last change")
	w.await(`store.values.devices.every((d) => !d.dark) && store.hello.loop.supply_v > 20`)

	w.choose("PT-101")
	w.does("Let what it measures be ", "7")
	w.await(`Math.abs(store.values.devices[0].out[0] - 7) < 0.5`)
	w.choose("FC-105")
	w.does("Switch its controller to ", "manual")
	w.does("In manual, set its output to ", "75")
	w.await(`Math.abs(store.values.devices[store.hello.devices.findIndex((d) => d.tag === "FC-105")].ma - 16) < 0.2`)

	w.does("Let there be ")
	w.await(`store.standing.faults.length === 1`)
	w.does("Mend ")
	w.await(`store.standing.faults.length === 0`)

	w.clickOn("Back to the start")
	w.clickOn("Sure? Everything that was changed is lost")
	w.await(`store.hello.epoch === 2 && store.standing.undo === "" && store.lineNow() < 30`)
}

// masters: a scan, a poll, a second master that comes and goes, and nobody who asks any more.
func (b *browser) masters(t *testing.T) {
	w := b.handsOn(t)
	w.does("Ask polling addresses 0 to ", "15")
	w.await(`store.standing.scan && store.messages.some((m) => m.kind === "unanswered" && m.command === 0)`)
	w.does("Stop scanning and polling")
	w.await(`!store.standing.scan && store.standing.polls.length === 0`)
	w.does("Let a second master ask ", "LT-103", "1", "1")
	w.await(`store.hello.stations.some((s) => s.kind === "master" && !s.gone && /secondary/.test(s.name))`)
	w.await(`store.messages.some((m) => m.command === 1 && m.kind === "reply")`)
	w.does("Take the second master off the line")
	w.await(`store.hello.stations.every((s) => s.gone || !/secondary/.test(s.name))`)
	w.does("Ask PT-101 once")
	w.await(`store.messages.at(-1).kind === "reply"`)
}
