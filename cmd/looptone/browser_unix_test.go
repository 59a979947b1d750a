//go:build unix

package main

import (
	"context"
	_ "embed"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// onlooker looks on in every page for the tests.
//
//go:embed testdata/onlooker.js
var onlooker string

// A browser is Debian's chromium without a window, with a profile of its own. Each tab is
// somebody else: they share no storage.
type browser struct{ ctx context.Context }

func startBrowser(tb testing.TB) *browser {
	tb.Helper()
	path, err := exec.LookPath("chromium")
	if t, ok := tb.(*testing.T); ok && err != nil {
		leaveOut(t, err)
	} else if err != nil {
		tb.Skip(err)
	}
	ctx, end := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(tb.TempDir()),
		chromedp.WSURLReadTimeout(time.Minute),
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("mute-audio", true))...)
	tb.Cleanup(end)
	ctx, quit := chromedp.NewContext(ctx)
	tb.Cleanup(quit)
	if err := chromedp.Do(ctx); err != nil {
		tb.Fatal(err)
	}
	return &browser{ctx}
}

// A tab shows a page. Whatever the browser complains of there fails the test, unless it
// was said before that it will.
type tab struct {
	tb      testing.TB
	ctx     context.Context
	end     func()
	mu      sync.Mutex
	wrong   []string // what the browser has complained of
	allowed []string // parts of complaints that belong to the test
}

// A pictureSize is that of the picture that a projector or a screen shows.
type pictureSize struct{ width, height int64 }

var pictureSizes = []pictureSize{{1280, 720}, {1920, 1080}}

func (s pictureSize) String() string { return fmt.Sprintf("%dx%d", s.width, s.height) }

func (b *browser) tab(tb testing.TB, s pictureSize) *tab {
	tb.Helper()
	w := &tab{tb: tb}
	ctx, end := chromedp.NewContext(b.ctx, chromedp.WithNewBrowserContext(), chromedp.WithListener(w.listen))
	w.ctx, w.end = ctx, end
	tb.Cleanup(w.close)
	w.resize(s)
	call(w, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	call(w, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: onlooker})
	return w
}

// close closes the tab, and tells what the browser has complained of.
func (w *tab) close() {
	w.end()
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, complaint := range w.wrong {
		w.tb.Errorf("the browser says: %s", complaint)
	}
	w.wrong = nil
}

// listen takes note of errors and warnings of the console and of requests that fail.
func (w *tab) listen(event any) {
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		w.complain(e.ExceptionDetails.Text + " " + description(e.ExceptionDetails.Exception))
	case *runtime.EventConsoleAPICalled:
		if e.Type == "error" || e.Type == "warning" || e.Type == "assert" {
			w.complain(fmt.Sprintf("%s in the console", e.Type))
		}
	case *log.EventEntryAdded:
		if e.Entry.Level == "error" || e.Entry.Level == "warning" {
			w.complain(e.Entry.Text + " " + e.Entry.URL)
		}
	case *network.EventLoadingFailed:
		if !e.Canceled {
			w.complain("loading failed: " + e.ErrorText)
		}
	}
}

func description(thrown *runtime.RemoteObject) string {
	if thrown == nil {
		return ""
	}
	return thrown.Description
}

func (w *tab) complain(text string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if !slices.ContainsFunc(w.allowed, func(part string) bool { return strings.Contains(text, part) }) {
		w.wrong = append(w.wrong, text)
	}
}

// allow says what the browser is going to complain of, because the test makes it happen.
func (w *tab) allow(parts ...string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.allowed = append(w.allowed, parts...)
}

func (w *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	w.tb.Helper()
	if err := chromedp.Do(w.ctx, steps...); err != nil {
		w.tb.Fatal(err)
	}
}

func call[P, R any](w *tab, command cdp.Command[P, R], params P) R {
	w.tb.Helper()
	result, err := chromedp.Call(w.ctx, command, params)
	if err != nil {
		w.tb.Fatalf("%s: %v", command.Method, err)
	}
	return result
}

func (w *tab) resize(s pictureSize) { w.tb.Helper(); w.do(chromedp.EmulateViewport(s.width, s.height)) }

// look sets what the system of the reader prefers: light or dark.
func (w *tab) look(scheme string) {
	w.tb.Helper()
	call(w, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
}

// eval is the value of an expression in the page; a promise is waited for.
func eval[T any](w *tab, expression string) T {
	w.tb.Helper()
	value, err := chromedp.Run(w.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		w.tb.Fatalf("%s: %v", expression, err)
	}
	return value
}

// await waits until an expression is true in the page.
func (w *tab) await(expression string) {
	w.tb.Helper()
	if err := poll(func() bool { return eval[bool](w, "Boolean("+expression+")") }); err != nil {
		w.tb.Fatalf("it does not come about that %s\n%s", expression, w.state())
	}
}

// state is what a reader sees in words, and what the page was told last, for a test that
// fails.
func (w *tab) state() string {
	const told = ` + "\n" + JSON.stringify(typeof store === "undefined" ? null : { standing: store.standing, news: store.news, connected: store.connected })`
	return eval[string](w, `document.body.innerText.replaceAll(/\s+/g, " ").slice(0, 1200)`+told)
}

// text is the text of an element.
func (w *tab) text(selector string) string {
	w.tb.Helper()
	return eval[string](w, "document.querySelector("+quoted(selector)+").textContent")
}

// quoted is a text as it stands in a script.
func quoted(text string) string {
	b, _ := json.Marshal(text) // a string can always be written
	return string(b)
}

// click clicks where an element stands, which has to be in sight there and not covered.
func (w *tab) click(element string) {
	w.tb.Helper()
	type place struct {
		X, Y float64
		Why  string
	}
	var at place
	ready := func() bool {
		at = place{} // a reason that there was before is not told of any more
		if err := json.Unmarshal(eval[[]byte](w, "onlooker.place("+element+")"), &at); err != nil {
			w.tb.Fatal(err)
		}
		return at.Why == ""
	}
	if err := poll(ready); err != nil {
		w.tb.Fatalf("%s cannot be clicked: %s\n%s", element, at.Why, w.state())
	}
	w.do(chromedp.MouseClickXY(at.X, at.Y))
}

// clickOn clicks on the button with a text.
func (w *tab) clickOn(text string) {
	w.tb.Helper()
	w.click("onlooker.button(" + quoted(text) + ")")
}

// press presses a key.
func (w *tab) press(key string) { w.tb.Helper(); w.do(chromedp.KeyEvent(key)) }

// A site is the program with the page of a line, as a process of its own.
type site struct {
	tb      testing.TB
	program *exec.Cmd
	at, key string
	ended   bool
}

// serve starts it with the demonstration line, or with what else the arguments say.
func serve(t testing.TB, args ...string) *site {
	t.Helper()
	if !slices.Contains(args, "--page") {
		args = append(args, "--page", "127.0.0.1:0")
	}
	s := &site{tb: t, program: program(t, append([]string{"sim"}, args...)...)}
	stderr, err := s.program.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.program.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.end)
	s.at, s.key = addressOf(t, stderr)
	return s
}

// end ends the program.
func (s *site) end() {
	if s.ended {
		return
	}
	s.ended = true
	s.program.Process.Signal(os.Interrupt)
	if err := s.program.Wait(); err != nil {
		s.tb.Errorf("the program ends with %v", err)
	}
}

// open opens the page, with the key or without, and waits until there is something on it.
func (w *tab) open(s *site, withKey bool) *tab {
	w.tb.Helper()
	w.show(s, withKey)
	w.await(`store.hello && store.messages.length > 1 && store.values.devices.length`)
	return w
}

// show opens the page of a line on which nothing may ever be understood.
func (w *tab) show(s *site, withKey bool) {
	w.tb.Helper()
	w.tb.Cleanup(w.close) // before the program ends
	at := "http://" + s.at + "/"
	if withKey {
		at += "#key=" + s.key
	}
	w.do(chromedp.Navigate(at))
}
