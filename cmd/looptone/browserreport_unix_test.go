//go:build unix

package main

import (
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
)

// openFile opens a report as a file, in a browser without a network.
func (w *tab) openFile(report []byte) {
	w.tb.Helper()
	name := filepath.Join(w.tb.TempDir(), "report.html")
	if err := os.WriteFile(name, report, 0o600); err != nil {
		w.tb.Fatal(err)
	}
	call(w, conditions, offline{Offline: true, DownloadThroughput: -1, UploadThroughput: -1})
	w.do(chromedp.Navigate((&url.URL{Scheme: "file", Path: name}).String()))
}

// conditions sets those of the network. Browsers of today know this command; the one that
// is to replace it has another form in each of them.
var conditions = cdp.Command[offline, cdp.Empty]{Method: "Network.emulateNetworkConditions"}

type offline struct {
	Offline            bool    `json:"offline"`
	Latency            float64 `json:"latency"`
	DownloadThroughput float64 `json:"downloadThroughput"`
	UploadThroughput   float64 `json:"uploadThroughput"`
}

// reportSections are the views of a report.
var reportSections = []string{"summary", "over-time", "devices", "values", "response-times", "damage", "statuses"}

// report: it opens from a file without a network, its filters work, a message opens, its
// pictures are drawn; the checker finds nothing in light and in dark.
func (b *browser) report(t *testing.T) {
	capture := filepath.Join(t.TempDir(), "busy.txt")
	if err := os.WriteFile(capture, busy(t, 200_000), 0o600); err != nil {
		t.Fatal(err)
	}
	page, _ := reportOf(t, capture)
	script := axeCore(t)
	w := b.tab(t, pictureSizes[0])
	w.openFile(page)
	for _, id := range reportSections {
		if !eval[bool](w, `document.getElementById(`+quoted(id)+`)?.checkVisibility() === true`) {
			t.Errorf("the report has no section %s", id)
		}
	}
	if n := eval[int](w, `performance.getEntriesByType("resource").length`); n > 0 {
		t.Errorf("the report loads %d other files", n)
	}
	w.await(`[...document.querySelectorAll("canvas")].filter((c) => c.checkVisibility() && c.width > 0).every((c) => onlooker.colours(c) > 3)`)
	w.await(`document.querySelectorAll("#listing li").length === 40`)
	b.filters(t, w)
	shown := `[document.querySelectorAll("#listing li").length, document.querySelectorAll(".damages li").length]`
	onScreen := eval[[]int](w, shown)
	onPaper := eval[[]int](w, `(dispatchEvent(new Event("beforeprint")), `+shown+`)`)
	if all := eval[[]int](w, `((all) => [all.length, all.filter((m) => m.wrong).length])(new Traffic(JSON.parse(document.getElementById("data").textContent)).messages)`); onPaper[0] != min(all[0], 1000) || onPaper[1] != min(all[1], 1000) || onPaper[0] <= onScreen[0] {
		t.Errorf("%d messages and damages are shown, and %d printed of %d", onScreen, onPaper, all)
	}
	if again := eval[[]int](w, `(dispatchEvent(new Event("afterprint")), `+shown+`)`); !slices.Equal(again, onScreen) {
		t.Errorf("%d messages and damages are shown, and %d when they were printed", onScreen, again)
	}
	w.click(`document.querySelector("#listing button")`)
	w.await(`document.querySelector("#opened .strip-box") !== null && document.querySelector("#opened").checkVisibility()`)
	for _, scheme := range [...]string{"light", "dark"} {
		w.look(scheme)
		eval[[]float64](w, `onlooker.pictures(0.1)`)
		w.judge(script, "report "+scheme)
		if wrong := eval[[]string](w, `onlooker.covered()`); len(wrong) > 0 {
			t.Errorf("report %s: covered: %q", scheme, wrong)
		}
	}
}

// filters: each takes away what it should, as the messages that the report carries say.
func (b *browser) filters(t *testing.T, w *tab) {
	found := func() (passed, all int) {
		text := w.text("#found")
		n := regexp.MustCompile(`of ([\d,]+) messages? that pass the filter, out of ([\d,]+) messages`).FindStringSubmatch(text)
		if n == nil {
			t.Fatalf("it says %q", text)
		}
		passed, _ = strconv.Atoi(strings.ReplaceAll(n[1], ",", ""))
		all, _ = strconv.Atoi(strings.ReplaceAll(n[2], ",", ""))
		return passed, all
	}
	set := func(label, value string) {
		t.Helper()
		if !eval[bool](w, `((input) => { input.value = `+quoted(value)+`; input.dispatchEvent(new Event("change", { bubbles: true })); return input.value === `+quoted(value)+`; })
			([...document.querySelectorAll("#filters label")].find((l) => l.textContent.startsWith(`+quoted(label)+`)).querySelector("select, input"))`) {
			t.Fatalf("%s cannot be %q", label, value)
		}
	}
	_, all := found()
	set("Kind", "wrong")
	damaged, _ := found()
	if damaged == 0 || damaged > all/10 {
		t.Errorf("%d of %d messages went wrong", damaged, all)
	}
	if n := eval[int](w, `[...document.querySelectorAll("#listing li span:not(.when):not(.wrong)")].length`); n > 0 {
		t.Errorf("%d messages that did not go wrong pass the filter for what did", n)
	}
	w.clickOn("No filter")
	set("Command", "0")
	if n, _ := found(); n != 30 { // 15 devices asked for their identity, and their replies
		t.Errorf("%d messages with command 0, want 30", n)
	}
	w.clickOn("No filter")
	set("To", "10")
	early, _ := found()
	set("To", "")
	set("From (s", "10.0001")
	late, _ := found()
	if early == 0 || late == 0 || early+late < all || early+late > all+2 {
		t.Errorf("%d messages until 10 s and %d behind that, of %d", early, late, all)
	}
	w.clickOn("No filter")
	if passed, all := found(); passed != all {
		t.Errorf("without a filter %d of %d messages pass", passed, all)
	}
	w.clickOn("Next page ▸")
	w.await(`document.querySelector("#found").textContent.startsWith("41 to 80 of")`)
}

// largeReport: the report of a capture that is too large to be shown whole opens at once.
// [BenchmarkBrowserReport] opens that of 100 MB.
func (b *browser) largeReport(t *testing.T) {
	const captured, most = 10_000_000, 3 * time.Second
	took := b.opening(t, largeCapture(t, captured))
	t.Logf("the report of %d MB opens in %v", captured/1_000_000, took)
	if took > most {
		t.Errorf("the report of %d MB opens in %v, want at most %v", captured/1_000_000, took, most)
	}
}

func largeCapture(tb testing.TB, size int) []byte {
	tb.Helper()
	capture := filepath.Join(tb.TempDir(), "large.txt")
	if err := os.WriteFile(capture, busy(tb, size), 0o600); err != nil {
		tb.Fatal(err)
	}
	page, _ := reportOf(tb, capture)
	if len(page) > 5_000_000 {
		tb.Errorf("the report of %d bytes has %d, want at most 5 MB", size, len(page))
	}
	return page
}

// opening is how long a report takes until its pictures and its list are there.
func (b *browser) opening(tb testing.TB, page []byte) time.Duration {
	tb.Helper()
	w := b.tab(tb, pictureSizes[1])
	began := time.Now()
	w.openFile(page)
	w.await(`document.readyState === "complete" && document.querySelectorAll("#listing li").length > 0`)
	eval[[]float64](w, `onlooker.pictures(0.01)`) // and painted
	return time.Since(began)
}

func BenchmarkBrowserReport(b *testing.B) {
	chromium := startBrowser(b)
	page := largeCapture(b, 100_000_000)
	for b.Loop() {
		chromium.opening(b, page)
	}
	b.ReportMetric(float64(len(page)), "B/page")
}
