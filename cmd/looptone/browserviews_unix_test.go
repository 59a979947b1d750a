//go:build unix

package main

import (
	"encoding/hex"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"looptone/sim/linefile"
)

// TestBrowser looks at the page of a line, and at reports, in a browser. Each test has a
// line and tabs of its own.
func TestBrowser(t *testing.T) {
	b := startBrowser(t)
	for _, test := range [...]struct {
		name string
		run  func(*testing.T)
	}{
		{"wires", b.wires}, {"lanes", b.lanes}, {"message", b.message}, {"tones", b.tones},
		{"device", b.device}, {"trends", b.trends},
		{"verbs", b.verbs}, {"writes", b.writes}, {"actions", b.actions}, {"masters", b.masters},
		{"ask who", b.askWho}, {"ask check byte", b.askCheckByte},
		{"pause", b.pause}, {"back", b.back}, {"reconnect", b.reconnect},
		{"keyboard", b.keyboard}, {"axe", b.axe}, {"layout", b.layout},
		{"print", b.print}, {"report", b.report}, {"large report", b.largeReport},
	} {
		t.Run(test.name, func(t *testing.T) {
			t.Parallel() // most of each is waiting for the line
			test.run(t)
		})
	}
}

// wires: every device hangs on the wires with its tag, polling address, current and
// voltage, as the line file says; who talks is told; who lacks voltage is dark.
func (b *browser) wires(t *testing.T) {
	w := b.tab(t, pictureSizes[0]).open(serve(t), true)
	labels := eval[[]string](w, `[...document.querySelectorAll("#wires .devices button")].map((b) => b.title)`)
	devices := linefile.Demonstration().Devices
	if len(labels) != len(devices) {
		t.Fatalf("devices on the wires: %q, want %d", labels, len(devices))
	}
	says := regexp.MustCompile(`^(\S+), polling address (\d+), (\d+\.\d\d mA, (moving|parked|fixed)|dark: .+), \d+\.\d volts across it(, in burst mode)?$`)
	for _, d := range devices {
		want := fmt.Sprintf("%s, polling address %d, ", d.Tag, d.Polling)
		i := slices.IndexFunc(labels, func(label string) bool { return strings.HasPrefix(label, want) })
		if i < 0 || !says.MatchString(labels[i]) {
			t.Errorf("no device on the wires says %q: %q", want, labels)
		}
	}
	w.await(`/^(The )?\S+.*; everybody on the wires hears it\.$/.test(document.querySelector("#wires .talks").textContent)`)
	w.await(`document.querySelector("#wires [data-now=talks]")`)
	w.await(`/\d+\.\d\d mA/.test(document.querySelector("#wires .sum").textContent)`)

	// With half of the supply every device of this line is below its lift-off voltage.
	if ok := eval[bool](w, `wish({ do: "act", action: { set: "line.supply_v", to: 12 } }).then((o) => o.ok)`); !ok {
		t.Fatal("the supply cannot be lowered")
	}
	w.await(`document.querySelector("#wires .supply-v").textContent === "12.0 V"`)
	w.await(`document.querySelectorAll("#wires .device[data-mode=dark]").length > 0`)
	dark := eval[string](w, `document.querySelector("#wires .device[data-mode=dark]").title`)
	if !strings.Contains(dark, ", dark: ") {
		t.Errorf("a dark device says %q", dark)
	}
	w.await(`/^(The )?\S+.* talks; its tones are on the wires\.$/.test(document.querySelector("#wires .talks").textContent)`)
	if eval[bool](w, `document.querySelector("#wires .lack").checkVisibility()`) {
		t.Error("a line whose devices go dark is said to be impossible")
	}

	// Across the supply nobody hears anybody, and who comes then is told why.
	w = b.tab(t, pictureSizes[0])
	w.show(serve(t, "../../testdata/lines/clipped-wrong.toml"), false)
	w.await(`/^The primary master talks; its tones are on the wires\.$/.test(document.querySelector("#wires .talks").textContent)`)
	w.await(`/mV of the tones reach the host/.test(document.querySelector("#wires .news").textContent)`)
	w.await(`document.querySelector("#message h2").textContent === "Nobody can make out what is said."`)

	// Fifteen moving currents take more than that: of this line nobody says who goes dark.
	w = b.tab(t, pictureSizes[0]).open(serve(t, fifteenLine(t)), true)
	eval[bool](w, `wish({ do: "act", action: { set: "line.supply_v", to: 12 } }).then((o) => o.ok)`)
	w.await(`/^The supply does not reach: −\d+\.\d V would be left for PT-1\./.test(document.querySelector("#wires .lack").textContent)`)
	w.await(`document.querySelector("#wires .lack").checkVisibility()`)
}

// lanes: one lane a station, moved and zoomed by pointer, wheel and keys; a click on what
// was said selects it; no bytes stand there; a list says the same.
func (b *browser) lanes(t *testing.T) {
	w := b.tab(t, pictureSizes[0]).open(serve(t), true)
	w.await(`onlooker.colours(traffic.canvas) > 8`)
	w.await(`traffic.list.children.length > 1`)
	names := eval[string](w, `[...onlooker.written.keys()].join("\n")`)
	for _, d := range linefile.Demonstration().Devices {
		if !strings.Contains(names, d.Tag) {
			t.Errorf("no lane is called %s", d.Tag)
		}
	}
	if found := regexp.MustCompile(`(?im)^[0-9a-f]{2}( [0-9a-f]{2})*$`).FindAllString(names, -1); found != nil {
		t.Errorf("in the lanes stands %q, which may be bytes", found)
	}
	listed := eval[bool](w, `[...traffic.list.children].every((li) => store.messages.some((m) => li.textContent === clockText(m.start) + " " + m.sentence))`)
	if !listed {
		t.Errorf("the list is no list of the messages:\n%s", w.text("#lanes ol"))
	}

	w.clickOn("Pause")
	w.await(`store.clock.pace === 0`)
	w.do(mouseOnMessage(w, `store.messages.at(-1)`))
	w.await(`watch.selected === store.messages.at(-1).n`)

	w.click("traffic.canvas")
	eval[bool](w, `traffic.scroll.focus() || true`)
	for _, step := range [...]struct{ key, comes string }{
		{kb.ArrowUp, `watch.span < was.span`}, {kb.ArrowDown, `watch.span > was.span`},
		{kb.ArrowLeft, `watch.time() < was.time`}, {kb.ArrowRight, `watch.time() > was.time`},
		{kb.PageUp, `watch.time() < was.time`}, {kb.End, `watch.atEdge`}, {kb.Home, `watch.time() < 1`},
		{"]", `watch.span > was.span`}, {"[", `watch.span < was.span`}, {"l", `watch.atEdge`},
	} {
		eval[bool](w, `globalThis.was = { span: watch.span, time: watch.time() }, true`)
		w.press(step.key)
		w.await(step.comes)
	}
	for _, step := range [...]struct{ button, comes string }{
		{"#longer-button", `watch.span > was.span`}, {"#shorter-button", `watch.span < was.span`},
	} {
		eval[bool](w, `globalThis.was = { span: watch.span }, true`)
		w.click("document.querySelector(" + quoted(step.button) + ")")
		w.await(step.comes)
	}
	w.drag("traffic.canvas", 120)
	w.await(`!watch.atEdge && watch.behind > 0`)
	w.wheel("traffic.canvas", -200)
	w.await(`watch.span < was.span`)
}

// message: a message stands as one strip of its bytes, each box with a caption and a
// sentence, and its check byte is recomputed step by step.
func (b *browser) message(t *testing.T) {
	w := b.tab(t, pictureSizes[0]).open(serve(t), true)
	w.await(`store.messages.slice(0, -1).some((m) => m.kind === "reply" && m.command === 3)`)
	w.clickOn("Pause")
	w.await(`store.clock.pace === 0`)
	eval[bool](w, `watch.select(store.messages.find((m) => m.kind === "reply" && m.command === 3).n), true`)
	sent := eval[string](w, `((m) => "ff".repeat(m.ff) + m.hex)(store.message(watch.selected))`)
	w.await(`[...document.querySelectorAll("#message .strip-byte")].map((b) => b.textContent).join("") === ` + quoted(sent))
	if n := eval[int](w, `messagePanel.strip.boxes.filter((b) => !b.caption || !b.sentence).length`); n > 0 {
		t.Errorf("%d boxes without caption or sentence", n)
	}

	w.click(`document.querySelector("#message .strip-box")`)
	before := w.text("#message .strip-sentence")
	w.press(kb.ArrowRight)
	w.await(`document.querySelector("#message .strip-sentence").textContent !== ` + quoted(before))
	w.press(kb.End)
	w.await(`/check byte/.test(document.querySelector("#message .strip-sentence").textContent)`)

	bytes, err := hex.DecodeString(eval[string](w, `messagePanel.shown.hex`))
	if err != nil {
		t.Fatal(err)
	}
	sum := byte(0)
	for i, c := range bytes[:len(bytes)-1] {
		w.clickOn("One byte")
		if said, want := w.text("#message .check-said"), fmt.Sprintf("%02x and %02x make %02x", sum, c, sum^c); !strings.HasPrefix(said, want) {
			t.Fatalf("byte %d: it says %q, want %q", i, said, want)
		}
		sum ^= c
	}
	w.clickOn("One byte")
	if said, want := w.text("#message .check-said"), fmt.Sprintf("The check byte is %02x: it is right.", sum); said != want {
		t.Errorf("in the end it says %q, want %q", said, want)
	}
	w.clickOn("Play") // by itself, now from the beginning
	w.await(`document.querySelector("#message .strip-marked")`)
	w.clickOn("Hold")

	w.clickOn("Its request")
	w.await(`messagePanel.shown.kind === "request"`)
	w.clickOn("Its reply")
	w.await(`messagePanel.shown.kind === "reply"`)
	w.clickOn("Next ▸")
	w.await(`messagePanel.shown.kind === "request"`)
	w.clickOn("◂ Before")
	w.await(`messagePanel.shown.kind === "reply"`)
}

// tones: what is played is the message, as a demodulator hears it; slow motion is longer.
func (b *browser) tones(t *testing.T) {
	w := b.tab(t, pictureSizes[0]).open(serve(t), true)
	w.await(`messagePanel.strip.boxes.length > 5`)
	w.clickOn("Hear it")
	w.await(`messagePanel.player.playing && document.querySelector("#message .strip-marked")`)
	w.await(`!messagePanel.player.playing`)
	var heard struct {
		Rate    float64
		Samples []float32
	}
	decode(t, eval[[]byte](w, `onlooker.spoken()`), &heard)
	for i := range heard.Samples {
		heard.Samples[i] /= 32767
	}
	got := hex.EncodeToString(heardIn(heard.Samples, heard.Rate))
	if want := eval[string](w, `"ff".repeat(messagePanel.shown.ff) + messagePanel.shown.hex`); got != want {
		t.Errorf("what is played is %s, what was sent %s", got, want)
	}

	eval[bool](w, `onlooker.played.length = 0, messagePanel.slow.value = "20", true`)
	w.clickOn("Hear it")
	w.await(`messagePanel.player.playing && messagePanel.player.tones.seconds > 2`)
	w.await(`/^Sound, \d/.test(document.querySelector("#message .message-heard").textContent)`)
	w.clickOn("Stop")
	w.await(`!messagePanel.player.playing && document.querySelector("#message .message-heard").textContent === MessagePanel.soundHint`)
}
