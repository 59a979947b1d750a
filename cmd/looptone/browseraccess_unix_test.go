//go:build unix

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// axeVersion is the release of axe-core, an accessibility checker, that judges the pages.
const axeVersion = "4.14.1"

// axeCore is its script, out of the npm registry, and kept for the next time.
func axeCore(t *testing.T) string {
	t.Helper()
	cache, err := os.UserCacheDir()
	if err != nil {
		leaveOut(t, err)
	}
	kept := filepath.Join(cache, "looptone-test", "axe-core-"+axeVersion+".js")
	if script, err := os.ReadFile(kept); err == nil {
		return string(script)
	}
	npm, err := exec.LookPath("npm")
	if err != nil {
		leaveOut(t, err)
	}
	folder := t.TempDir()
	if out, err := exec.CommandContext(t.Context(), npm, "install", "--prefix", folder, "--ignore-scripts", "--no-audit", "--no-fund", "axe-core@"+axeVersion).CombinedOutput(); err != nil {
		t.Logf("%s", out)
		leaveOut(t, err)
	}
	script, err := os.ReadFile(filepath.Join(folder, "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	if os.MkdirAll(filepath.Dir(kept), 0o755) == nil {
		os.WriteFile(kept, script, 0o600) // next time it is fetched again if that fails
	}
	return string(script)
}

// judge fails the test for every rule of WCAG 2.2 AA, and of good practice, that the page
// breaks as it is shown.
func (w *tab) judge(script, shown string) {
	w.tb.Helper()
	if !eval[bool](w, `typeof axe === "object"`) {
		w.do(chromedp.Evaluate[chromedp.Void](script))
	}
	broken := eval[[]string](w, `axe.run(document, { resultTypes: ["violations"] }).then((r) =>
		r.violations.map((v) => v.id + ": " + v.help + "\n" + v.nodes.slice(0, 4).map((n) => "  " + n.target + " " + (n.any[0]?.message || n.all[0]?.message || n.none[0]?.message || "")).join("\n")))`)
	for _, rule := range broken {
		w.tb.Errorf("%s: %s", shown, rule)
	}
}

// A shown is what can be open on the page: how it is opened, and how it is told that it is.
type shown struct{ name, opens, open string }

var shownOnPage = []shown{
	{"line", `side.hide()`, `!side.shown`},
	{"device", `[...document.querySelectorAll("#wires .device")].find((b) => b.textContent.includes("FC-105")).click()`, `side.shown === "device" && deviceView.opened?.tag === "FC-105"`},
	{"trends", `side.show("trends")`, `side.shown === "trends"`},
	{"hands", `side.show("hands")`, `side.shown === "hands"`},
	{"preview", verb("Let it talk by itself: ") + `.show.click()`, `hands.shown.strip.boxes.length > 0`},
	{"help", `side.hide(), transport.help()`, `document.querySelector("#help").open`},
	{"ask who", `document.querySelector("#help").close(), wish({ do: "ask", ask: "who" })`, `document.querySelector("#ask").open && store.ask.question === "who" && askDialog.strip.boxes.length > 0`},
	{"ask check byte", `askDialog.stop().then(() => wish({ do: "ask", ask: "check byte" }))`, `document.querySelector("#ask").open && store.ask?.open && store.ask.question === "check byte" && askDialog.strip.boxes.at(-1)?.caption === "check byte"`},
	{"looked back", `askDialog.stop().then(() => watch.back(1))`, `!watch.atEdge && !document.querySelector("#ask").open`},
}

// views opens each view of a page in turn, in light and in dark.
func (w *tab) views(see func(name string)) {
	w.tb.Helper()
	for _, scheme := range [...]string{"light", "dark"} {
		w.look(scheme)
		eval[bool](w, `watch.live(), true`)
		for _, s := range shownOnPage {
			eval[bool](w, `void (`+s.opens+`), true`)
			w.await(s.open)
			w.await(`look.dark === ` + quoted(scheme) + `.startsWith("dark")`)
			eval[[]float64](w, `onlooker.pictures(0.1)`) // so that it is drawn
			see(s.name + " " + scheme)
		}
	}
}

// axe: the checker finds nothing in any view.
func (b *browser) axe(t *testing.T) {
	script := axeCore(t)
	w := b.tab(t, pictureSizes[0]).open(serve(t), true)
	w.views(func(name string) { w.judge(script, name) })
}

// portrait is a screen that was turned: as wide as before it was high.
var portrait = pictureSize{1080, 1920}

// layout: no text is smaller than 1.6 % of the height of the picture, or 1.2 % of its width
// where that is less; none stands on another, and none is cut off.
func (b *browser) layout(t *testing.T) {
	s := serve(t)
	for _, p := range append(slices.Clone(pictureSizes), portrait) {
		w := b.tab(t, p).open(s, true)
		small := fmt.Sprintf(`onlooker.small(%g)`, min(0.016, 0.012*float64(p.width)/float64(p.height)))
		w.views(func(name string) {
			for kind, found := range map[string]string{"small": small, "covered": `onlooker.covered()`, "cut": `onlooker.cut()`} {
				if wrong := eval[[]string](w, found); len(wrong) > 0 {
					t.Errorf("%v, %s: %s:\n  %s", p, name, kind, strings.Join(wrong, "\n  "))
				}
			}
		})
	}
}

// keyboard: everything can be reached with the tab key, shows that it has the focus, and
// lets it go again; what is opened is closed by escape, and the focus goes back.
func (b *browser) keyboard(t *testing.T) {
	w := b.tab(t, pictureSizes[0]).open(serve(t), true)
	w.press("t")
	w.await(`side.shown === "trends"`)
	w.press("h")
	w.await(`side.shown === "hands"`)
	w.press("d")
	w.await(`side.shown === "device" && deviceView.opened`)
	w.press(" ") // another message would have other boxes
	w.await(`store.clock.pace === 0`)
	w.tabThrough(t)
	w.press("h")
	w.await(`side.shown === "hands"`)
	w.tabThrough(t)
	w.press(" ")
	w.await(`store.clock.pace === 1`)

	eval[bool](w, `document.querySelector("[data-panel=hands]").focus() || true`)
	w.press("?")
	w.await(`document.querySelector("#help").open && document.querySelector("#help").contains(document.activeElement)`)
	w.press(kb.Escape)
	w.await(`!document.querySelector("#help").open && document.activeElement.dataset.panel === "hands"`)
	eval[bool](w, `hands.verbs.find((v) => v.fields?.length).fields[0].input.focus() || true`)
	w.press(kb.Escape)
	w.await(`side.shown === "" && document.activeElement.dataset.panel === "hands"`)

	eval[bool](w, `document.querySelector("#wires .device").focus() || true`)
	w.press(kb.ArrowRight)
	w.await(`document.activeElement.title.startsWith(store.hello.devices[wires.order[1]].tag)`)
	w.press(kb.Enter)
	w.await(`side.shown === "device" && watch.device === wires.order[1]`)
	w.press(" ") // on a button the space bar is the button's own
	w.await(`store.clock.pace === 1`)
	eval[bool](w, `document.activeElement.blur(), true`)
	w.press(" ")
	w.await(`store.clock.pace === 0`)
	w.press(".")
	w.await(`/one message on/.test(document.querySelector("#state").textContent)`)
	w.press(",")
	w.await(`!watch.atEdge`)
	w.press("l")
	w.await(`watch.atEdge`)
	w.press(" ")
	w.await(`store.clock.pace === 1`)
	w.press("-")
	w.await(`store.clock.pace === 0.25`)
	w.press("+")
	w.await(`store.clock.pace === 1`)
}

// tabThrough goes around with the tab key once: every control that can be used is met.
func (w *tab) tabThrough(t *testing.T) {
	t.Helper()
	eval[bool](w, `document.activeElement.blur(), true`)
	met := map[string]bool{}
	for range 200 {
		w.press(kb.Tab)
		var at struct {
			Name string
			Seen bool
		}
		decode(t, eval[[]byte](w, `(() => { document.activeElement.dataset.met = ""; return onlooker.focused(); })()`), &at)
		if at.Name == "" {
			break
		}
		if !at.Seen {
			t.Errorf("%s does not show that it has the focus", at.Name)
		}
		met[at.Name] = true
	}
	missed := eval[[]string](w, `[...document.querySelectorAll("button, input, select, [tabindex]")].filter((e) =>
		e.checkVisibility({ visibilityProperty: true }) && !e.disabled && e.tabIndex >= 0 && !("met" in e.dataset)).map((e) => e.outerHTML.slice(0, 90))`)
	if len(met) < 15 || len(missed) > 0 {
		t.Errorf("the tab key meets %d controls and misses %q", len(met), missed)
	}
	eval[bool](w, `document.querySelectorAll("[data-met]").forEach((e) => delete e.dataset.met), true`)
}
