package page

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

// A site is a page that is served over TCP, with a line behind it.
type site struct {
	t    *testing.T
	page *Page
	at   string // HOST:PORT
	stop context.CancelFunc
	done chan struct{}
}

// serve serves the page of a line in real time until the test ends.
func serve(t *testing.T, file string, c Config) *site {
	t.Helper()
	d, err := linefile.Parse("line.toml", []byte(file), nil)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	c.Description, c.Shown = d, "a line of a test"
	ctx, stop := context.WithCancel(context.Background())
	s := &site{t: t, page: New(c), at: l.Addr().String(), stop: stop, done: make(chan struct{})}
	served := make(chan error, 1)
	s.page.headerPatience = time.Second
	go func() { served <- s.page.Serve(ctx, l, "127.0.0.1") }()
	ready := make(chan struct{})
	go func() {
		defer close(s.done)
		for again := true; again && ctx.Err() == nil; {
			again = s.run(ctx, d, ready)
			ready = nil
		}
		if err := <-served; err != nil {
			t.Error(err)
		}
		s.page.Close()
	}()
	<-ready
	t.Cleanup(s.close)
	return s
}

// run runs the line once, and reports whether it is to be run again.
func (s *site) run(ctx context.Context, d *linefile.Description, ready chan struct{}) (again bool) {
	a, err := d.Assemble(nil, nil)
	if err != nil {
		s.t.Error(err)
		return false
	}
	defer a.Close()
	runner := live.NewRunner(a.Line)
	scene := s.page.Show(a, runner)
	defer scene.End()
	a.Line.Log(func(talker *sim.Seat, b *sim.Burst) { scene.Carrier(talker, b) })
	if ready != nil {
		close(ready)
	}
	runner.Run(ctx, scene.Over)
	return scene.Over()
}

func (s *site) close() {
	s.stop()
	<-s.done
}

// client is one that keeps nothing open behind an answer.
func (s *site) client() *http.Client {
	return &http.Client{Transport: &http.Transport{DisableKeepAlives: true}, Timeout: 20 * time.Second}
}

// A follower reads the events of a page as a browser does.
type follower struct {
	body io.Closer
	in   *bufio.Reader
}

func (s *site) follow() *follower {
	s.t.Helper()
	r, err := s.client().Get("http://" + s.at + "/events")
	if err != nil {
		s.t.Fatal(err)
	}
	if r.StatusCode != http.StatusOK || r.Header.Get("Content-Type") != "text/event-stream" {
		s.t.Fatalf("events: %s, %s", r.Status, r.Header.Get("Content-Type"))
	}
	s.t.Cleanup(func() { r.Body.Close() })
	return &follower{r.Body, bufio.NewReader(r.Body)}
}

// next is the next event; false when there are no more.
func (f *follower) next() (e told, ok bool) {
	for {
		line, err := f.in.ReadString('\n')
		if err != nil {
			return e, false
		}
		if name, is := strings.CutPrefix(line, "event: "); is {
			e.name = strings.TrimSpace(name)
		}
		if data, is := strings.CutPrefix(line, "data: "); is {
			e.text = strings.TrimSpace(data)
			return e, true
		}
	}
}

// until is the next event of a name, into x.
func until[T any](t *testing.T, f *follower, name string) (x T) {
	t.Helper()
	for {
		e, ok := f.next()
		if !ok {
			t.Fatalf("the stream ended before %s", name)
		}
		if e.name == name {
			if err := json.Unmarshal([]byte(e.text), &x); err != nil {
				t.Fatal(err)
			}
			return x
		}
	}
}

// post sends a wish with the key.
func (s *site) post(wish string) (o Outcome) {
	s.t.Helper()
	r, err := http.NewRequest(http.MethodPost, "http://"+s.at+"/do", strings.NewReader(wish))
	if err != nil {
		s.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Looptone-Key", s.page.Key())
	answer, err := s.client().Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer answer.Body.Close()
	if err := json.NewDecoder(answer.Body).Decode(&o); err != nil {
		s.t.Fatalf("%s: %v", answer.Status, err)
	}
	return o
}

// TestGuard: what is asked wrongly, or by whom it must not be, is refused.
func TestGuard(t *testing.T) {
	s := serve(t, two, Config{Polls: true})
	const pause = `{"do":"pause"}`
	key := s.page.Key()
	_, port, _ := net.SplitHostPort(s.at)
	json := "Content-Type: application/json\r\n"
	with := json + "X-Looptone-Key: " + key + "\r\n"
	for _, c := range []struct {
		name, method, target, host, headers, body string
		want                                      int
		says                                      string // in the answer
	}{
		{"the page", "GET", "/", s.at, "", "", 200, "<!doctype html>"},
		{"by name", "GET", "/", "localhost:" + port, "", "", 200, "<!doctype html>"},
		{"over IPv6", "GET", "/", "[::1]:" + port, "", "", 200, "<!doctype html>"},
		{"through a tunnel", "GET", "/", "localhost:9999", "", "", 200, "<!doctype html>"},
		{"another name", "GET", "/", "rebound.example", "", "", 421, "this page goes by another name"},
		{"another name, events", "GET", "/events", "rebound.example:" + port, "", "", 421, "this page goes by another name"},
		{"a name that begins alike", "GET", "/", "localhost.rebound.example", "", "", 421, "another name"},
		{"a name that ends alike", "GET", "/", "notlocalhost", "", "", 421, "another name"},
		{"an address of somebody else", "GET", "/", "192.0.2.7:" + port, "", "", 421, "another name"},
		{"another name, with the key", "POST", "/do", "rebound.example", with, pause, 421, "another name"},
		{"no host", "GET", "/", "", "", "", 421, "another name"},
		{"no key", "POST", "/do", s.at, json, pause, 403, "only who has the key of this line can change it"},
		{"a wrong key", "POST", "/do", s.at, json + "X-Looptone-Key: " + strings.Repeat("0", len(key)) + "\r\n", pause, 403, "only who has the key"},
		{"half a key", "POST", "/do", s.at, json + "X-Looptone-Key: " + key[:len(key)/2] + "\r\n", pause, 403, "only who has the key"},
		{"the key in the address", "POST", "/do?key=" + key, s.at, json, pause, 403, "only who has the key"},
		{"from another page", "POST", "/do", s.at, with + "Origin: http://evil.example\r\n", pause, 403, "another page has asked for this"},
		{"from a page of another port", "POST", "/do", s.at, with + "Origin: http://127.0.0.1:1\r\n", pause, 403, "another page"},
		{"from nowhere", "POST", "/do", s.at, with + "Origin: null\r\n", pause, 403, "another page"},
		{"from another site", "POST", "/do", s.at, with + "Sec-Fetch-Site: cross-site\r\n", pause, 403, "another page"},
		{"from the same site", "POST", "/do", s.at, with + "Sec-Fetch-Site: same-site\r\n", pause, 403, "another page"},
		{"events for another page", "GET", "/events", s.at, "Origin: http://evil.example\r\n", "", 403, "another page"},
		{"a message for another page", "GET", "/message?n=1", s.at, "Sec-Fetch-Site: cross-site\r\n", "", 403, "another page"},
		{"a wish by GET", "GET", "/do", s.at, with, "", 405, "got GET, want POST"},
		{"a wish by PUT", "PUT", "/do", s.at, with, pause, 405, "got PUT, want POST"},
		{"events by POST", "POST", "/events", s.at, with, pause, 405, "got POST, want GET"},
		{"the page by DELETE", "DELETE", "/", s.at, with, "", 405, "got DELETE, want GET"},
		{"a form", "POST", "/do", s.at, strings.Replace(with, "application/json", "text/plain", 1), pause, 415, `content type: got "text/plain", want application/json`},
		{"too long a wish", "POST", "/do", s.at, with, `{"do":"` + strings.Repeat("x", 64<<10) + `"}`, 413, "a wish is longer than 65536 bytes"},
		{"no JSON", "POST", "/do", s.at, with, "pause", 400, "a wish is a JSON object: "},
		{"two wishes", "POST", "/do", s.at, with, pause + pause, 400, "a wish is one JSON object, and something stands behind it"},
		{"an unknown key", "POST", "/do", s.at, with, `{"do":"pause","shell":"ls"}`, 400, `unknown field "shell"`},
		{"an unknown wish", "POST", "/do", s.at, with, `{"do":"explode"}`, 200, `do: got \"explode\", want one of pause, go, pace, step, ask, answer, restart, scan, poll, quiet, send, act, undo`},
		{"a name without end", "POST", "/do", s.at, with, `{"do":"pause","by":"` + strings.Repeat("a", 41) + `"}`, 200, "by: got 41 characters, want 40 at the most"},
		{"up", "GET", "/../event.go", s.at, "", "", 404, "there is nothing here"},
		{"up, in code", "GET", "/%2e%2e/event.go", s.at, "", "", 404, "there is nothing here"},
		{"up twice in code", "GET", "/..%2f..%2fgo.mod", s.at, "", "", 404, "there is nothing here"},
		{"a folder", "GET", "/drawing/", s.at, "", "", 404, "there is nothing here"},
		{"a folder by its name", "GET", "/drawing", s.at, "", "", 404, "there is nothing here"},
		{"a source", "GET", "/drawing/drawing.go", s.at, "", "", 404, "there is nothing here"},
		{"a file of the machine", "GET", "//etc/passwd", s.at, "", "", 404, "there is nothing here"},
		{"a NUL", "GET", "/index.html%00", s.at, "", "", 404, "there is nothing here"},
		{"backslashes", "GET", `/..\..\go.mod`, s.at, "", "", 404, "there is nothing here"},
		{"a message by a word", "GET", "/message?n=last", s.at, "", "", 400, `n: got "last", want the number of a message`},
		{"a message that never was", "GET", "/message?n=99999999", s.at, "", "", 404, "message 99999999 is not kept: the latest 2000 are"},
		{"a message below zero", "GET", "/message?n=-1", s.at, "", "", 404, "message -1 is not kept"},
		{"headers without end", "GET", "/", s.at, "X-Long: " + strings.Repeat("x", 32<<10) + "\r\n", "", 431, ""},
		{"no HTTP", "", "", s.at, "", "", 400, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			status, text, _ := s.raw(c.method, c.target, c.host, c.headers, c.body)
			if status != c.want || !strings.Contains(text, c.says) {
				t.Errorf("%d, %.300s\nwant %d, %s", status, text, c.want, c.says)
			}
		})
	}
	if c := until[Hello](t, s.follow(), "hello").Clock; c.Pace != 1 || c.By != "" {
		t.Errorf("behind all that the clock is %+v, want nobody to have changed it", c)
	}
}

// raw sends a request as it stands, and gives the answer.
func (s *site) raw(method, target, host, headers, body string) (status int, text string, h http.Header) {
	s.t.Helper()
	conn, err := net.Dial("tcp", s.at)
	if err != nil {
		s.t.Fatal(err)
	}
	defer conn.Close()
	conn.SetDeadline(time.Now().Add(10 * time.Second))
	length := ""
	if body != "" {
		length = fmt.Sprintf("Content-Length: %d\r\n", len(body))
	}
	go fmt.Fprintf(conn, "%s %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n%s%s\r\n%s", method, target, host, headers, length, body)
	answer, err := http.ReadResponse(bufio.NewReader(conn), nil)
	if err != nil {
		s.t.Fatal(err)
	}
	defer answer.Body.Close()
	all, _ := io.ReadAll(io.LimitReader(answer.Body, 1<<20)) // a connection that is cut off says as much
	return answer.StatusCode, string(all), answer.Header
}

func TestHeaders(t *testing.T) {
	s := serve(t, two, Config{})
	for _, target := range []string{"/", "/store.js", "/drawing/palette.css", "/message?n=1", "/nothing"} {
		_, _, h := s.raw("GET", target, s.at, "", "")
		for name, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer", "X-Frame-Options": "DENY",
			"Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin",
		} {
			if got := h.Get(name); got != want {
				t.Errorf("%s: %s: %q, want %q", target, name, got, want)
			}
		}
		policy := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'self'", "frame-ancestors 'none'", "base-uri 'none'"} {
			if !strings.Contains(policy, want) {
				t.Errorf("%s: the policy %q lacks %s", target, policy, want)
			}
		}
		if strings.Contains(policy, "unsafe") || h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: the policy %q, and %q", target, policy, h.Get("Access-Control-Allow-Origin"))
		}
	}
}

// TestFiles: every file is served as what it is, and not again when it has not changed.
func TestFiles(t *testing.T) {
	s := serve(t, two, Config{})
	for target, kind := range map[string]string{
		"/": "text/html; charset=utf-8", "/index.html": "text/html; charset=utf-8", "/store.js": "text/javascript; charset=utf-8",
		"/drawing/palette.css": "text/css; charset=utf-8", "/icon.svg": "image/svg+xml",
	} {
		status, text, h := s.raw("GET", target, s.at, "", "")
		if status != 200 || h.Get("Content-Type") != kind || text == "" {
			t.Errorf("%s: %d, %q, %d bytes; want %q", target, status, h.Get("Content-Type"), len(text), kind)
		}
		status, text, _ = s.raw("GET", target, s.at, "If-None-Match: "+h.Get("ETag")+"\r\n", "")
		if status != 304 || text != "" {
			t.Errorf("%s again: %d, %d bytes; want 304 and none", target, status, len(text))
		}
	}
}

// TestEverythingThatIndexNames: no style or script is missing, and none stands inside.
func TestEverythingThatIndexNames(t *testing.T) {
	all := files()
	text := string(all["/"].text)
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == '"' }) {
		for _, end := range []string{".js", ".css", ".svg"} {
			if strings.HasSuffix(part, end) && all["/"+part] == nil {
				t.Errorf("index.html names %s, which is not there", part)
			}
		}
	}
	for _, inside := range []string{"<style", " style=", " onclick=", "<script>"} {
		if strings.Contains(text, inside) {
			t.Errorf("index.html has %s, which the policy refuses", inside)
		}
	}
}

// TestTwoBrowsersSeeTheSame: what one has done the other sees, and who has no key sees it
// too.
func TestTwoBrowsersSeeTheSame(t *testing.T) {
	s := serve(t, two, Config{Polls: true})
	one, other := s.follow(), s.follow()
	until[Hello](t, one, "hello")
	until[Hello](t, other, "hello")
	if o := s.post(`{"do":"pause","by":"Anna"}`); !o.OK || o.Says != "The line stands still for everybody." {
		t.Fatalf("%+v", o)
	}
	for _, f := range []*follower{one, other} {
		for c := until[Clock](t, f, "clock"); c.By != "Anna" || c.Pace != 0; c = until[Clock](t, f, "clock") {
			if c.By != "" {
				t.Fatalf("clock %+v, want one that Anna stopped", c)
			}
		}
	}
	if h := until[Hello](t, s.follow(), "hello"); h.Clock.Pace != 0 || h.Clock.By != "Anna" {
		t.Errorf("who comes later is told %+v", h.Clock)
	}
}

// TestBackAgain: a browser that comes back is told everything anew.
func TestBackAgain(t *testing.T) {
	s := serve(t, two, Config{Polls: true})
	f := s.follow()
	m := until[Message](t, f, "message")
	f.body.Close()
	h := until[Hello](t, s.follow(), "hello")
	if len(h.Messages) == 0 || h.Messages[0] != m || h.Epoch != 1 {
		t.Errorf("told %d messages of epoch %d, want the first one %+v", len(h.Messages), h.Epoch, m)
	}
	if h.Messages[0].Sentence != "primary → PT-1 (1)  read unique identifier" {
		t.Errorf("the first sentence is %q", h.Messages[0].Sentence)
	}
	if len(h.Carriers) < len(h.Messages) || h.Stations[0].Name != "primary master" || h.Stations[1].Name != "PT-1" || h.Devices[1].Tag != "PT-2" {
		t.Errorf("told %d carriers, stations %+v, devices %+v", len(h.Carriers), h.Stations, h.Devices)
	}
}

// TestANewEpoch: a line that is put back to its start says so to whoever looks on.
func TestANewEpoch(t *testing.T) {
	s := serve(t, two, Config{Polls: true})
	f := s.follow()
	until[Message](t, f, "message")
	if o := s.post(`{"do":"restart","by":"Anna"}`); !o.OK {
		t.Fatalf("%+v", o)
	}
	h := until[Hello](t, f, "hello")
	if h.Epoch != 2 || len(h.Messages)+len(h.Carriers) != 0 || h.Clock.Line > 1 {
		t.Errorf("told epoch %d, %d messages, line time %g s; want a line at its start", h.Epoch, len(h.Messages), h.Clock.Line)
	}
	if m := until[Message](t, f, "message"); m.N != 1 {
		t.Errorf("the first message has number %d", m.N)
	}
}

// TestCrowd: the 201st browser is turned away, and comes in when another one goes.
func TestCrowd(t *testing.T) {
	s := serve(t, two, Config{})
	var all []*follower
	for range mostViewers {
		all = append(all, s.follow())
	}
	for _, f := range all {
		until[Hello](t, f, "hello")
	}
	status, text, h := s.raw("GET", "/events", s.at, "", "")
	if status != 503 || h.Get("Retry-After") == "" || text != "too many browsers look on: try again later\n" {
		t.Errorf("%d, %q, want it to come later", status, text)
	}
	if o := s.post(`{"do":"pause"}`); !o.OK {
		t.Errorf("with so many the holder of the key is not heard: %+v", o)
	}
	all[0].body.Close()
	for deadline := time.Now().Add(10 * time.Second); ; {
		if status, _, _ := s.events(); status == 200 {
			return
		}
		if time.Now().After(deadline) {
			t.Fatal("nobody comes in though one has gone")
		}
	}
}

// TestWhoAsksForNothing: connections on which nothing comes, or a request that does not
// come to its end, are closed, however many there are.
func TestWhoAsksForNothing(t *testing.T) {
	s := serve(t, two, Config{})
	var all []net.Conn
	defer func() {
		for _, c := range all {
			c.Close()
		}
	}()
	for i := range mostConns + 50 {
		c, err := net.Dial("tcp", s.at)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, c)
		if i%2 == 0 {
			fmt.Fprintf(c, "GET / HTTP/1.1\r\nHost: %s\r\nX-Slow: a", s.at)
		}
	}
	deadline := time.Now().Add(10 * time.Second)
	for i, c := range all {
		c.SetReadDeadline(deadline)
		if _, err := io.Copy(io.Discard, c); errors.Is(err, os.ErrDeadlineExceeded) {
			t.Fatalf("connection %d of %d is still open", i, len(all))
		}
	}
	if status, _, _ := s.raw("GET", "/", s.at, "", ""); status != 200 {
		t.Errorf("afterwards got status %d, want 200", status)
	}
}

// events looks whether the page has room.
func (s *site) events() (status int, text string, h http.Header) {
	s.t.Helper()
	r, err := s.client().Get("http://" + s.at + "/events")
	if err != nil {
		s.t.Fatal(err)
	}
	defer r.Body.Close()
	return r.StatusCode, "", r.Header
}

// TestWhoStopsReading: a browser that takes nothing any more holds nobody up, and is let
// go.
func TestWhoStopsReading(t *testing.T) {
	s := serve(t, two, Config{Polls: true})
	s.page.do(func(*Scene) { s.page.patience = 500 * time.Millisecond })
	conn, err := net.Dial("tcp", s.at)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	conn.(*net.TCPConn).SetReadBuffer(4 << 10)
	fmt.Fprintf(conn, "GET /events HTTP/1.1\r\nHost: %s\r\n\r\n", s.at)
	f := s.follow()
	until[Hello](t, f, "hello")
	for s.viewers() < 2 {
		until[Clock](t, f, "clock")
	}
	flood := strings.Repeat("x", 64<<10)
	began := time.Now()
	read := make(chan int)
	go func() {
		n := 0
		for e, ok := f.next(); ok && n < 400; e, ok = f.next() {
			if e.name == "news" {
				n++
			}
		}
		read <- n
	}()
	for range 400 { // 26 MB, more than sockets and ring hold together
		if !s.page.do(func(scene *Scene) { scene.News("", flood) }) {
			t.Fatal("the line has ended")
		}
		for deadline := time.Now().Add(10 * time.Second); len(s.page.hub.waiting) > 0 || s.lag() > ringLen/4; { // of who reads
			if time.Now().After(deadline) {
				t.Fatal("who reads is held up")
			}
			time.Sleep(time.Millisecond)
		}
	}
	if n := <-read; n != 400 {
		t.Fatalf("who reads has got %d of 400 news", n)
	}
	t.Logf("26 MB to who reads took %v", time.Since(began))
	for deadline := time.Now().Add(patience); s.viewers() > 1; {
		if time.Now().After(deadline) {
			t.Fatal("who takes nothing is not let go")
		}
		time.Sleep(10 * time.Millisecond)
	}
}

func (s *site) viewers() int {
	s.page.hub.mu.Lock()
	defer s.page.hub.mu.Unlock()
	return len(s.page.hub.viewers)
}

// lag is how far the one who is furthest is behind.
func (s *site) lag() int64 {
	s.page.hub.mu.Lock()
	defer s.page.hub.mu.Unlock()
	furthest := int64(0)
	for v := range s.page.hub.viewers {
		furthest = max(furthest, v.at)
	}
	return s.page.hub.end - furthest
}

// TestEndsAtOnce: whoever looks on, the server ends when it is told to.
func TestEndsAtOnce(t *testing.T) {
	s := serve(t, two, Config{Polls: true})
	f := s.follow()
	until[Hello](t, f, "hello")
	began := time.Now()
	s.close()
	if took := time.Since(began); took > 2*time.Second {
		t.Errorf("the end took %v with a browser connected", took)
	}
	for _, ok := f.next(); ok; _, ok = f.next() {
	}
}

func TestKeysDiffer(t *testing.T) {
	one, other := New(Config{}), New(Config{})
	defer one.Close()
	defer other.Close()
	if len(one.Key()) != 32 || one.Key() == other.Key() || bytes.Count([]byte(one.Key()), []byte("0")) > 16 {
		t.Errorf("keys %s and %s, want 128 random bits each", one.Key(), other.Key())
	}
}
