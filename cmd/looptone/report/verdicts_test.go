package report

import (
	"bufio"
	"bytes"
	"html"
	"strings"
	"testing"
	"time"

	"looptone/serialio/modemcheck"
)

// The page of a modem's test has every limit once a way, with its verdict and its source.
func TestModemPageHasEveryLimit(t *testing.T) {
	sent := []modemcheck.Sent{{At: time.Unix(0, 0), Chars: []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0x02, 0x80, 0x00, 0x00, 0x82}}}
	way := modemcheck.Compare(sent, nil, modemcheck.Timing{})
	way.From, way.To = "<first>", "second"
	r := &modemcheck.Report{Hookup: modemcheck.TwoPorts, Seed: 7, Took: 1500 * time.Millisecond, Ways: []*modemcheck.Way{way}}
	if r.OK() {
		t.Fatal("nothing came, and no limit is broken")
	}
	var page bytes.Buffer
	w := bufio.NewWriter(&page)
	if err := Modem(Source{Title: "Test", Cautions: []string{"Do it on a bench."}}, r).write(w); err != nil {
		t.Fatal(err)
	}
	w.Flush()
	text := page.String()
	for _, v := range r.Verdicts() {
		row := `<span class="verdict">` + v.Finding.String() + `</span></td><th scope="row">` + v.Name + `</th>`
		if strings.Count(text, row) == 0 {
			t.Errorf("no row %s", row)
		}
		if !strings.Contains(text, html.EscapeString(v.Source)) {
			t.Errorf("%s: its source is missing: %s", v.Name, v.Source)
		}
	}
	for _, want := range []string{"Not in order: messages", "Do it on a bench.", "&lt;first&gt; → second", "Seed 7. It took 1.5 s.", "at most 0 messages lost or damaged"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(text, "<first>") {
		t.Error("the name of a port stands in the page as it is")
	}
	if broken, kept := strings.Index(text, `<tr class="broken">`), strings.Index(text, `<tr class="kept">`); broken < 0 || kept >= 0 && kept < broken {
		t.Error("what is broken does not come first")
	}
}
