package page

import (
	"context"
	"encoding/json"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

// two is a line with two devices.
const two = `
[line]
name = "two"
[[device]]
tag = "PT-1"
polling = 1
device_id = 1
kind = "gauge"
revision = 7
  [device.sensor]
  lower = 0.0
  upper = 10.0
  unit = "bar"
  [device.range]
  lower = 0.0
  upper = 10.0
  unit = "bar"
  [device.process]
  model = "constant"
  value = 5.0
[[device]]
tag = "PT-2"
polling = 2
device_id = 2
kind = "gauge"
revision = 5
  [device.sensor]
  lower = 0.0
  upper = 10.0
  unit = "bar"
  [device.range]
  lower = 0.0
  upper = 10.0
  unit = "bar"
  [device.process]
  model = "constant"
  value = 5.0
`

// A running line is one that a page shows, in the time of a bubble.
type running struct {
	t     *testing.T
	page  *Page
	scene *Scene
	view  *viewer
}

// told is an event as a browser has it.
type told struct {
	name string
	text string
}

// run shows a line and runs it while test goes on.
func run(t *testing.T, file string, c Config, test func(r *running)) {
	t.Helper()
	d, err := linefile.Parse("line.toml", []byte(file), nil)
	if err != nil {
		t.Fatal(err)
	}
	synctest.Test(t, func(t *testing.T) {
		c.Description = d
		r := &running{t: t, page: New(c)}
		defer r.page.Close()
		ctx, stop := context.WithCancel(context.Background())
		defer func() {
			stop()
			synctest.Wait()
		}()
		r.begin(ctx)
		synctest.Wait()
		if r.view, err = r.page.hub.join(); err != nil {
			t.Fatal(err)
		}
		test(r)
	})
}

// begin assembles the line, and has it run.
func (r *running) begin(ctx context.Context) {
	a, err := r.page.config.Description.Assemble(nil, nil)
	if err != nil {
		r.t.Fatal(err)
	}
	runner := live.NewRunner(a.Line)
	r.scene = r.page.Show(a, runner)
	scene := r.scene
	a.Line.Log(func(talker *sim.Seat, b *sim.Burst) { scene.Carrier(talker, b) })
	a.Report = func(_ sim.Tick, did string, _ error) { scene.Did("", did) }
	go func() {
		runner.Run(ctx, scene.Over)
		scene.End()
		a.Close()
	}()
}

// wish has something done.
func (r *running) wish(w Wish) (o Outcome) {
	r.t.Helper()
	if !r.page.do(func(s *Scene) { o = s.grant(&w) }) {
		r.t.Fatal("the line does not run")
	}
	return o
}

// must has something done that is not refused.
func (r *running) must(w Wish) Outcome {
	r.t.Helper()
	o := r.wish(w)
	if !o.OK {
		r.t.Fatalf("%+v: %s", w, o.Error)
	}
	return o
}

// events are those that were told since the last time.
func (r *running) events() (list []told) {
	r.t.Helper()
	synctest.Wait()
	var text strings.Builder
	b := make([]byte, 64<<10)
	for {
		n, _, err := r.page.hub.read(r.view, b)
		if err != nil {
			r.t.Fatal(err)
		}
		if n == 0 {
			break
		}
		text.Write(b[:n])
	}
	for _, block := range strings.Split(strings.TrimSuffix(text.String(), "\n\n"), "\n\n") {
		name, data, ok := strings.Cut(block, "\ndata: ")
		if ok {
			list = append(list, told{strings.TrimPrefix(name, "event: "), data})
		}
	}
	return list
}

// last is the last event of a name, into x; false where there is none.
func last[T any](t *testing.T, list []told, name string) (x T, ok bool) {
	t.Helper()
	for _, e := range list {
		if e.name == name {
			var fresh T
			if err := json.Unmarshal([]byte(e.text), &fresh); err != nil {
				t.Fatal(err)
			}
			x, ok = fresh, true
		}
	}
	return x, ok
}

// late is what a browser is told that comes now.
func (r *running) late() (h Hello) {
	r.t.Helper()
	synctest.Wait()
	v, err := r.page.hub.join()
	if err != nil {
		r.t.Fatal(err)
	}
	defer r.page.hub.leave(v)
	_, data, _ := strings.Cut(strings.TrimSpace(string(v.hello)), "\ndata: ")
	if err := json.Unmarshal([]byte(data), &h); err != nil {
		r.t.Fatal(err)
	}
	return h
}

func (r *running) lineTime() (at float64) {
	r.t.Helper()
	r.page.do(func(s *Scene) { at = s.clock.now().Line })
	return at
}

func TestSomebodyPauses(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		time.Sleep(3 * time.Second)
		r.events()
		r.must(Wish{Do: "pause", By: "Anna"})
		was := r.lineTime()
		time.Sleep(10 * time.Second)
		list := r.events()
		c, _ := last[Clock](t, list, "clock")
		if c.Pace != 0 || c.By != "Anna" || c.Why != "paused" || c.Line != was {
			t.Errorf("clock %+v, want one that stands still at %g: Anna paused it", c, was)
		}
		if now := r.lineTime(); now != was {
			t.Errorf("line time went on from %g to %g", was, now)
		}
		for _, e := range list {
			if e.name == "carrier" || e.name == "message" {
				t.Errorf("a line that stands still tells %s", e.name)
			}
		}
		r.must(Wish{Do: "go"})
		time.Sleep(2 * time.Second)
		c, _ = last[Clock](t, r.events(), "clock")
		if c.Pace != 1 || c.By != "the holder of the key" || c.Why != "" || c.Line < was+1 {
			t.Errorf("clock %+v, want one that goes on from %g", c, was)
		}
	})
}

func TestStepIsOneMessage(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		time.Sleep(3 * time.Second)
		r.must(Wish{Do: "pause"})
		for range 12 {
			r.events()
			r.must(Wish{Do: "step", By: "Anna"})
			time.Sleep(3 * time.Second)
			list := r.events()
			said := 0
			for _, e := range list {
				if e.name == "message" {
					said++
				}
			}
			m, _ := last[Message](t, list, "message")
			c, _ := last[Clock](t, list, "clock")
			if said != 1 || c.Pace != 0 || c.Why != "one message on" || c.By != "Anna" {
				t.Errorf("a step told %d messages, clock %+v; want one, and the clock still", said, c)
			}
			if off := c.Line - m.End; off < 0 || off > 0.0005 {
				t.Errorf("the line stands %g s behind the message's end, want it there", off)
			}
		}
	})
}

// TestGoInTheMiddleOfAStep: who lets the line go on before the message has ended is not
// refused, and the line does not stop behind it.
func TestGoInTheMiddleOfAStep(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		r.must(Wish{Do: "pause"})
		r.must(Wish{Do: "step", By: "Anna"})
		time.Sleep(10 * time.Millisecond)
		r.events()
		r.must(Wish{Do: "go", By: "Ben"})
		was := r.lineTime()
		time.Sleep(5 * time.Second)
		c, _ := last[Clock](t, r.events(), "clock")
		if now := r.lineTime(); now < was+4.9 || c.By != "Ben" || c.Why != "" || c.Pace != 1 {
			t.Errorf("in 5 s line time went on by %g s, %+v; want it to go, by Ben", now-was, c)
		}
		if o := r.wish(Wish{Do: "pace", Pace: 2}); o.Error != "pace: got 2, want a pace from 0.001 to 1, which is that of the wall clock" {
			t.Errorf("pace 2: %+v", o)
		}
	})
}

// TestStepOverWhatNobodyHears: a host across the supply hears not even itself; a step ends
// with what it sends all the same.
func TestStepOverWhatNobodyHears(t *testing.T) {
	across := strings.Replace(two, "[line]", "[line]\nhost_at = \"supply\"", 1)
	run(t, across, Config{Polls: true}, func(r *running) {
		time.Sleep(3 * time.Second)
		r.must(Wish{Do: "pause"})
		for range 5 {
			r.events()
			r.must(Wish{Do: "step", By: "Anna"})
			time.Sleep(5 * time.Second)
			list := r.events()
			carrier, _ := last[Carrier](t, list, "carrier")
			clock, _ := last[Clock](t, list, "clock")
			if clock.Pace != 0 || clock.By != "Anna" {
				t.Fatalf("the clock is %+v, want it still", clock)
			}
			if off := clock.Line - carrier.Off; off < 0 || off > 0.02 {
				t.Errorf("the line stands %g s behind the end of the carrier, want it there", off)
			}
			if m, ok := last[Message](t, list, "message"); ok {
				t.Errorf("somebody hears %+v", m)
			}
		}
	})
}

// TestStepOverSilence: where nobody answers a step ends with the slave time-out.
func TestStepOverSilence(t *testing.T) {
	run(t, two, Config{}, func(r *running) {
		polling := 9
		time.Sleep(time.Second)
		r.must(Wish{Do: "send", Polling: &polling, Command: 0})
		r.must(Wish{Do: "step"})
		time.Sleep(3 * time.Second)
		request, _ := last[Message](t, r.events(), "message")
		r.must(Wish{Do: "step"})
		time.Sleep(3 * time.Second)
		m, _ := last[Message](t, r.events(), "message")
		c := r.lineTime()
		const timeOut = 28 * 11 / 1200.0 // Source: FieldComm Group support article 8000040648 (28 characters of 11 bits)
		if want := "polling address 9 does not answer primary  read unique identifier  within 257 ms"; m.Kind != "unanswered" || m.Sentence != want || m.ReplyTo != request.N {
			t.Errorf("%+v, want %q", m, want)
		}
		if late := c - request.End - timeOut; late < 0 || late > 0.0005 {
			t.Errorf("the line stands %g s behind the slave time-out, want it there", late)
		}
	})
}

func TestSlowMotion(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		time.Sleep(2 * time.Second)
		r.must(Wish{Do: "pace", Pace: 0.01, By: "Anna"})
		was := r.lineTime()
		time.Sleep(50 * time.Second)
		c, _ := last[Clock](t, r.events(), "clock")
		if went := r.lineTime() - was; went < 0.499 || went > 0.501 {
			t.Errorf("in 50 s line time went on by %g s, want 0.5 s", went)
		}
		if c.Pace != 0.01 || c.By != "Anna" || c.Why != "slow motion" {
			t.Errorf("clock %+v, want slow motion of Anna", c)
		}
	})
}

func TestAskWhoAnswers(t *testing.T) {
	for _, c := range []struct {
		name, file, given string
		prepare           func(r *running)
		polling           int
		answer, says      string
		right             bool
	}{
		{"right", two, "PT-2", nil, 2, "PT-2", "PT-2 has polling address 2, which the request names.", true},
		{"wrong", two, "PT-1", nil, 2, "PT-2", "PT-2 has polling address 2, which the request names.", false},
		{"nobody there", two, "nobody", nil, 9, "nobody", "Nobody has polling address 9: after the slave time-out the master gives up.", true},
		{"silenced", two, "PT-2", func(r *running) { r.must(Wish{Do: "act", Action: map[string]any{"mute": "PT-2"}}) }, 2,
			"nobody", "PT-2 is meant, but it was silenced.", false},
		{"two at once", strings.Replace(two, "polling = 2", "polling = 1\nallow_duplicate = true", 1), "PT-1", nil, 1,
			"PT-1 and PT-2", "PT-1 and PT-2 answer at once, and spoil each other: they share polling address 1.", true},
		{"a fault", two, "PT-2", func(r *running) {
			r.must(Wish{Do: "act", Action: map[string]any{"fault": map[string]any{"kind": "no reply", "device": "PT-2"}}})
		}, 2, "nobody", "PT-2 is meant, and its reply did not begin within the slave time-out (on the line: no reply).", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			run(t, c.file, Config{}, func(r *running) {
				time.Sleep(time.Second)
				if c.prepare != nil {
					c.prepare(r)
				}
				r.must(Wish{Do: "ask", Ask: "who", By: "Anna"})
				r.must(Wish{Do: "send", Polling: &c.polling, Command: 0})
				time.Sleep(5 * time.Second)
				list := r.events()
				q, ok := last[Ask](t, list, "ask")
				m, _ := last[Message](t, list, "message")
				if !ok || !q.Open || q.Request != m.N || m.Kind != "request" || q.Choices[len(q.Choices)-1] != "nobody" {
					t.Fatalf("asked %+v about %+v, want who answers", q, m)
				}
				at := r.lineTime()
				if off := at - m.End; off < 0 || off > 0.0005 {
					t.Errorf("the line stands %g s behind the check byte, want it there", off)
				}
				r.must(Wish{Do: "answer", Answer: c.given})
				time.Sleep(2 * time.Second)
				q, _ = last[Ask](t, r.events(), "ask")
				if q.Open || q.Answer != c.answer || q.Says != c.says || q.Right != c.right || q.Given != c.given {
					t.Errorf("%+v,\nwant %q: %q", q, c.answer, c.says)
				}
				stood := r.lineTime()
				time.Sleep(time.Second)
				if now := r.lineTime(); now != stood {
					t.Errorf("the line goes on while the answer is read")
				}
				time.Sleep(5 * time.Second)
				if now := r.lineTime(); now == stood {
					t.Errorf("the line stands still for ever")
				}
			})
		})
	}
}

// TestTheQuestionDoesNotAnswerItself: as long as the class is asked who will answer, nothing
// of the request names who is meant; afterwards everything does.
func TestTheQuestionDoesNotAnswerItself(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		time.Sleep(3 * time.Second)
		r.events()
		r.must(Wish{Do: "ask", Ask: "who"})
		time.Sleep(3 * time.Second)
		list := r.events()
		m, _ := last[Message](t, list, "message")
		q, _ := last[Ask](t, list, "ask")
		x, _ := r.scene.apart.find(m.N)
		text, err := json.Marshal([]any{m, q.Text, x})
		if err != nil {
			t.Fatal(err)
		}
		if !q.Open || m.Kind != "request" || m.To != -1 || strings.Contains(string(text), "PT-") {
			t.Fatalf("asked %+v about %s, want nobody named", q, text)
		}
		if !strings.Contains(m.Sentence, "read dynamic variables") || !strings.Contains(q.Text, m.Sentence) || len(x.Boxes) < 5 {
			t.Errorf("asked %+v about %s, want what the request is for, and its bytes", q, text)
		}
		late := r.late()
		if h := late.Messages[len(late.Messages)-1]; h.N != m.N || h.To != -1 || h.Sentence != m.Sentence {
			t.Errorf("who comes late is told %+v, want %+v", h, m)
		}
		r.must(Wish{Do: "answer", Answer: "PT-1"})
		time.Sleep(2 * time.Second)
		var again []Message
		for _, e := range r.events() {
			if x, ok := last[Message](t, []told{e}, "message"); ok {
				again = append(again, x)
			}
		}
		if len(again) != 2 || again[0].N != m.N || again[1].ReplyTo != m.N || again[1].Kind != "reply" {
			t.Fatalf("told %+v, want the request whole and then its reply", again)
		}
		from := again[1].From
		if again[0].To != from || !strings.Contains(again[0].Sentence, "PT-") || again[0].Hex != m.Hex {
			t.Errorf("told %+v, want it to name station %d", again[0], from)
		}
	})
}

func TestAskForTheCheckByte(t *testing.T) {
	run(t, two, Config{}, func(r *running) {
		polling := 2
		time.Sleep(time.Second)
		r.must(Wish{Do: "ask", Ask: "check byte"})
		r.must(Wish{Do: "send", Polling: &polling, Command: 0})
		time.Sleep(3 * time.Second)
		list := r.events()
		m, _ := last[Message](t, list, "message")
		q, _ := last[Ask](t, list, "ask")
		if m.Hex != "02820000" || q.Question != "check byte" || !q.Open {
			t.Fatalf("told %+v, %+v; want a request without its check byte", m, q)
		}
		x, _ := r.scene.apart.find(m.N)
		if last := x.Boxes[len(x.Boxes)-1]; last.Caption != "byte count" {
			t.Errorf("the last box is %+v, want the byte count", last)
		}
		if o := r.wish(Wish{Do: "answer", Answer: "8"}); o.OK || o.Error != `answer: got "8", want a byte in two hex digits` {
			t.Errorf("%+v", o)
		}
		r.must(Wish{Do: "answer", Answer: " 80"})
		list = r.events()
		m, _ = last[Message](t, list, "message")
		q, _ = last[Ask](t, list, "ask")
		if m.Hex != "0282000080" || q.Open || q.Answer != "80" || !q.Right {
			t.Errorf("told %+v, %+v; want the whole request, and that it was right", m, q)
		}
		if o := r.wish(Wish{Do: "answer", Answer: "80"}); o.Error != "answer: nothing is asked now" {
			t.Errorf("%+v", o)
		}
		stood := r.lineTime()
		r.must(Wish{Do: "go"})
		time.Sleep(3 * time.Second)
		if m, _ = last[Message](t, r.events(), "message"); m.Kind != "reply" || r.lineTime() == stood {
			t.Errorf("behind the answer %+v, want the reply", m)
		}
	})
}

// TestPauseIsRefusedWhereSomebodyIsOutside: where somebody outside can be on the line, its time
// never stands still.
func TestPauseIsRefusedWhereSomebodyIsOutside(t *testing.T) {
	run(t, two, Config{Outside: true, Fixed: "somebody outside may be on the line"}, func(r *running) {
		for _, w := range []Wish{{Do: "pause"}, {Do: "step"}, {Do: "pace", Pace: 0.5}, {Do: "ask", Ask: "who"}} {
			if o := r.wish(w); o.OK || !strings.Contains(o.Error, "somebody outside is on the line, whose time does not stand still") {
				t.Errorf("%s: %+v, want it refused", w.Do, o)
			}
		}
		if o := r.wish(Wish{Do: "restart"}); o.Error != "restart: somebody outside may be on the line" {
			t.Errorf("%+v", o)
		}
	})
}

func TestRestart(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		time.Sleep(5 * time.Second)
		r.must(Wish{Do: "act", Action: map[string]any{"mute": "PT-2"}})
		r.events()
		r.must(Wish{Do: "restart", By: "Anna"})
		<-r.scene.ended
		if r.page.do(func(*Scene) {}) {
			t.Error("something is done to a line that has ended")
		}
		ctx, stop := context.WithCancel(context.Background())
		defer stop()
		r.begin(ctx)
		time.Sleep(2 * time.Second)
		h, ok := last[Hello](t, r.events(), "hello")
		if !ok || h.Epoch != 2 || len(h.Messages) != 0 || h.Standing.Undo != "" {
			t.Errorf("hello %+v, want that of a new epoch with nothing on it", h)
		}
		if now := r.lineTime(); now < 1.9 || now > 2.1 {
			t.Errorf("line time %g 2 s behind the start", now)
		}
	})
}

// TestNewsForWhoComesLater: the latest of them, once each, and none of another run of the line.
func TestNewsForWhoComesLater(t *testing.T) {
	run(t, two, Config{}, func(r *running) {
		if h := r.late(); h.News == nil || len(h.News) > 0 {
			t.Errorf("news %v at the start, want an empty list", h.News)
		}
		for i := range 60 {
			r.must(Wish{Do: "act", Action: map[string]any{"set": "line.resistor_ohm", "to": 300 + i}})
		}
		h := r.late()
		if n := len(h.News); n != 50 || !strings.Contains(h.News[0].Says, " is 310 ") || !strings.Contains(h.News[n-1].Says, " is 359 ") {
			t.Errorf("%d news: %v, want the latest 50, oldest first", n, h.News)
		}
		r.must(Wish{Do: "restart"})
		<-r.scene.ended
		ctx, stop := context.WithCancel(context.Background())
		defer stop()
		r.begin(ctx)
		if h := r.late(); h.Epoch != 2 || len(h.News) > 0 {
			t.Errorf("epoch %d begins with the news %v, want none", h.Epoch, h.News)
		}
	})
}

// TestThePictureChanges: what is set of the wires everybody is told, and nothing that went
// on before is lost.
func TestThePictureChanges(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		time.Sleep(5 * time.Second)
		first, _ := last[Message](t, r.events(), "message")
		r.must(Wish{Do: "act", Action: map[string]any{"set": "line.resistor_ohm", "to": 300}, By: "Anna"})
		list := r.events()
		h, ok := last[Hello](t, list, "hello")
		if !ok || h.Epoch != 1 || h.Loop.ResistorOhm != 300 || !h.Loop.Known {
			t.Errorf("told %v, %+v; want 300 ohm", ok, h.Loop)
		}
		if n := len(h.Messages); n == 0 || h.Messages[n-1] != first {
			t.Errorf("told %d messages, want all that there were", n)
		}
		n, _ := last[News](t, list, "news")
		if n.By != "Anna" || !strings.Contains(n.Says, "resistor_ohm") {
			t.Errorf("news %+v, want what Anna did", n)
		}
	})
}

// TestNobodyWaitsForTheHub: what finds no room is lost, everybody has to come anew, and
// finds the line as it is.
func TestNobodyWaitsForTheHub(t *testing.T) {
	run(t, two, Config{}, func(r *running) {
		r.page.hub.mu.Lock() // as if it took for ever
		r.page.do(func(s *Scene) {
			for range 2 * waitingLen {
				s.News("", "again")
			}
			s.hands.push(&deed{says: "put it back"})
			s.tellStanding()
		})
		r.page.hub.mu.Unlock()
		synctest.Wait()
		if _, _, err := r.page.hub.read(r.view, make([]byte, 10)); err != errBehind {
			t.Errorf("who has missed something is told %v, want %v", err, errBehind)
		}
		time.Sleep(2 * period)
		if undo := r.late().Standing.Undo; undo != "put it back" {
			t.Errorf("who comes later is told that undo would %q, want what was lost", undo)
		}
	})
}

// TestRing: what goes round the ring comes out as it went in, and who is behind is told.
func TestRing(t *testing.T) {
	h := newHub()
	defer h.close()
	h.begin(&Hello{})
	v, err := h.join()
	if err != nil {
		t.Fatal(err)
	}
	slow, _ := h.join()
	b := make([]byte, 1000)
	next := byte(0)
	for i := range 4000 {
		piece := make([]byte, 700+i%13)
		for k := range piece {
			piece[k] = byte(int(next) + k)
		}
		h.mu.Lock()
		h.append(piece)
		h.mu.Unlock()
		for {
			n, _, err := h.read(v, b)
			if err != nil {
				t.Fatal(err)
			}
			if n == 0 {
				break
			}
			for _, c := range b[:n] {
				if c != next {
					t.Fatalf("piece %d: got %02x, want %02x", i, c, next)
				}
				next++
			}
		}
	}
	if _, _, err := h.read(slow, b); err != errBehind {
		t.Errorf("who has read nothing is told %v, want %v", err, errBehind)
	}
}

// TestPreviewDoesNothing: of what is done to the line's time, too.
func TestPreviewDoesNothing(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		time.Sleep(time.Second)
		for _, w := range []Wish{{Do: "pause"}, {Do: "pace", Pace: 0.1}, {Do: "ask", Ask: "who"}, {Do: "step"}, {Do: "restart"}} {
			w.Preview = true
			if o := r.must(w); o.Says == "" {
				t.Errorf("%s says nothing", w.Do)
			}
		}
		was := r.lineTime()
		time.Sleep(5 * time.Second)
		if c := r.lineTime(); c < was+4.9 || r.scene.Over() {
			t.Errorf("line time went on by %g s in 5 s, over: %v", c-was, r.scene.Over())
		}
	})
}

// TestPausedWhileTheAnswerIsRead: who pauses then is not overruled when the time to read
// has passed.
func TestPausedWhileTheAnswerIsRead(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		r.must(Wish{Do: "ask", Ask: "who"})
		time.Sleep(3 * time.Second)
		r.must(Wish{Do: "answer", Answer: "PT-1"})
		time.Sleep(2 * time.Second)
		r.must(Wish{Do: "pause", By: "Anna"})
		was := r.lineTime()
		time.Sleep(time.Minute)
		c, _ := last[Clock](t, r.events(), "clock")
		if c.By != "Anna" || c.Pace != 0 || r.lineTime() != was {
			t.Errorf("clock %+v, line time %g, want it to stand at %g", c, r.lineTime(), was)
		}
	})
}

// TestStepsThroughQuestions: a step past a question closes it, and ends with the reply.
func TestStepsThroughQuestions(t *testing.T) {
	run(t, two, Config{Polls: true}, func(r *running) {
		r.must(Wish{Do: "ask", Ask: "who"})
		time.Sleep(3 * time.Second)
		r.events()
		r.must(Wish{Do: "step", By: "Anna"})
		time.Sleep(3 * time.Second)
		list := r.events()
		q, _ := last[Ask](t, list, "ask")
		m, _ := last[Message](t, list, "message")
		c, _ := last[Clock](t, list, "clock")
		if q.Open || q.Given != "" || q.Answer != "PT-1" || m.Kind != "reply" || c.Pace != 0 || c.By != "Anna" {
			t.Errorf("%+v, %+v, %+v; want the reply, and the line still", q, m, c)
		}
		r.must(Wish{Do: "ask", Ask: "off"})
		r.must(Wish{Do: "go"})
		was := r.lineTime()
		time.Sleep(10 * time.Second)
		if now := r.lineTime(); now < was+9.9 {
			t.Errorf("with nothing asked line time went on by %g s in 10 s", now-was)
		}
	})
}
