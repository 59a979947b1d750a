//go:build unix

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// picturesIn names a folder for pictures of every view, for people to look at.
const picturesIn = "LOOPTONE_TEST_PICTURES"

// BenchmarkBrowserPictures takes them: every view, at every size, light and dark, on the
// demonstration line, and its beginning with 15 devices; and of a report. There is nothing
// in it that could fail, so it is no test.
func BenchmarkBrowserPictures(t *testing.B) {
	folder := os.Getenv(picturesIn)
	if folder == "" {
		t.Skip(picturesIn + " names no folder")
	}
	b := startBrowser(t)
	take := func(w *tab, name string, whole bool) {
		action := chromedp.CaptureScreenshot()
		if whole {
			action = chromedp.FullScreenshot(100)
		}
		picture, err := chromedp.Run(w.ctx, action)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, strings.ReplaceAll(name, " ", "-")+".png"), picture, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	s := serve(t)
	many := serve(t, fifteenLine(t))
	capture := filepath.Join(t.TempDir(), "busy.txt")
	if err := os.WriteFile(capture, busy(t, 200_000), 0o600); err != nil {
		t.Fatal(err)
	}
	page, _ := reportOf(t, capture)
	for _, p := range pictureSizes {
		w := b.tab(t, p).open(s, true)
		w.await(`store.lineNow() > 12`)
		w.views(func(name string) { take(w, p.String()+" "+name, false) })
		w.look("light")
		w.open(many, false)
		w.await(`store.lineNow() > 12 && messagePanel.strip.boxes.length > 0`)
		take(w, p.String()+" fifteen light", false)
		for _, scheme := range [...]string{"light", "dark"} {
			w := b.tab(t, p)
			w.look(scheme)
			w.openFile(page)
			w.await(`document.querySelectorAll("#listing li").length > 0`)
			w.click(`document.querySelector("#listing button")`)
			w.await(`document.querySelector("#opened .strip-box")`)
			take(w, p.String()+" report "+scheme, true)
		}
	}
}

// fifteenLine is a line with so many devices, all of whose values move, in a file. The page
// has a master ask them one after the other without a pause.
func fifteenLine(t testing.TB) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("[line]\nname = \"fifteen\"\nsupply_v = 48\nresistor_ohm = 100\n\n")
	for i := 1; i <= 15; i++ {
		fmt.Fprintf(&b, `[[device]]
tag = "PT-%d"
polling = %d
kind = "pressure"
revision = 7
device_id = %d
latency_ms = 20
loop_current_mode = "modulated"
  [device.sensor]
  lower = 0.0
  upper = 250.0
  unit = "kPa"
  [device.range]
  lower = 0.0
  upper = 40.0
  unit = "kPa"
  [device.process]
  model = "sine"
  low = 5.0
  high = 35.0
  period_s = %d
`, i, i, i, 20+i)
	}
	name := filepath.Join(t.TempDir(), "fifteen.toml")
	if err := os.WriteFile(name, []byte(b.String()), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}
