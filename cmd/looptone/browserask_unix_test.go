//go:build unix

package main

import (
	"encoding/hex"
	"fmt"
	"testing"
)

// askFirst has the line ask the class, and waits for the question in two browsers: of who
// has the key, and of somebody who looks on.
func (b *browser) askFirst(t *testing.T, button string) (mine, other *tab) {
	s := serve(t)
	mine, other = b.tab(t, pictureSizes[0]).open(s, true), b.tab(t, pictureSizes[0]).open(s, false)
	mine.clickOn("Hands on")
	mine.clickOn(button)
	for _, w := range [...]*tab{mine, other} {
		w.await(`document.querySelector("#ask").open && store.ask?.open && store.clock.pace === 0`)
	}
	other.await(`[...document.querySelectorAll("#ask .ask-choices button, #ask form input, #ask form button")].every((e) => e.disabled)`)
	other.await(`document.querySelector("#ask .ask-key").checkVisibility()`)
	return mine, other
}

// askWho: the line stands behind a request until somebody has said who will answer, and
// then shows whether he did.
func (b *browser) askWho(t *testing.T) {
	mine, other := b.askFirst(t, "who will answer?")
	to := mine.asked()
	wrong := eval[string](mine, `store.ask.choices.find((c) => c !== "nobody" && c !== `+quoted(to)+`)`)
	at := eval[float64](mine, `store.lineNow()`)
	if later := eval[float64](other, `store.lineNow()`); later != at {
		t.Errorf("line time goes on from %v to %v with the question open", at, later)
	}
	mine.click(`onlooker.button(` + quoted(wrong) + `, document.querySelector("#ask .ask-choices"))`)
	for _, w := range [...]*tab{mine, other} {
		w.await(`document.querySelector("#ask .ask-verdict").textContent === ` + quoted(fmt.Sprintf("Not quite: you said %s, and it is %s.", wrong, to)))
	}
	mine.clickOn("Go on now")
	mine.await(`store.ask?.open && store.clock.pace === 0`) // the next request
	next := mine.asked()
	mine.click(`onlooker.button(` + quoted(next) + `, document.querySelector("#ask .ask-choices"))`)
	mine.await(`document.querySelector("#ask .ask-verdict").textContent === ` + quoted("✓ Right: "+next+"."))
	mine.clickOn("Ask no more")
	mine.await(`!document.querySelector("#ask").open && store.clock.pace === 1`)
}

// asked is the tag of the device whose unique address stands in the request that the class
// is asked about, without the bits for the master and for burst mode.
func (w *tab) asked() string {
	w.tb.Helper()
	return eval[string](w, `(async () => {
		const { hex } = store.message(store.ask.request);
		const unique = (parseInt(hex.slice(2, 4), 16) & 0x3f).toString(16).padStart(2, "0") + hex.slice(4, 12);
		for (const [i, device] of store.hello.devices.entries()) {
			if ((await (await fetch("/device?i=" + i)).json()).unique === unique) return device.tag;
		}
		return "";
	})()`)
}

// askCheckByte: the message stands there without its check byte, whose value nobody is
// told before it was answered.
func (b *browser) askCheckByte(t *testing.T) {
	mine, other := b.askFirst(t, "what is the check byte?")
	boxes := eval[string](mine, `fetch("/message?n=" + store.ask.request).then((r) => r.json()).then((a) => a.boxes.filter((b) => b.caption !== "preambles").map((b) => b.hex).join(""))`)
	if known := eval[string](mine, `store.message(store.ask.request).hex`); known != boxes {
		t.Errorf("the message is %s, taken apart %s", known, boxes)
	}
	bytes, err := hex.DecodeString(boxes)
	if err != nil {
		t.Fatal(err)
	}
	sum := byte(0)
	for _, c := range bytes {
		sum ^= c
	}
	eval[bool](mine, `document.querySelector("#ask form input").value = `+quoted(fmt.Sprintf("%02x", sum))+`, true`)
	mine.clickOn("Answer")
	for _, w := range [...]*tab{mine, other} {
		w.await(`document.querySelector("#ask .ask-verdict").textContent === ` + quoted(fmt.Sprintf("✓ Right: %02x.", sum)))
	}
	if whole := eval[string](mine, `store.message(store.ask.request).hex`); whole != boxes+fmt.Sprintf("%02x", sum) {
		t.Errorf("afterwards the message is %s, want %s%02x", whole, boxes, sum)
	}
	mine.await(`document.querySelector("#ask .ask-sum").checkVisibility()`)
	mine.clickOn("Ask no more")
	mine.await(`!document.querySelector("#ask").open && store.clock.pace === 1`)
}
