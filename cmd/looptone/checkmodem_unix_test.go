//go:build unix

package main_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"looptone/frame"
	"looptone/serialio"
	"looptone/serialio/modemcheck"
)

// A testModem stands between two ptys, or hears itself on one, and does to the messages
// of a plan what it is told to.
type testModem struct {
	swallow int           // preambles of each message
	stray   bool          // a character when its carrier goes on
	late    time.Duration // of every character
	garble  map[int]bool  // characters of a way, counted from 0

	plan []modemcheck.Message
	from int // the end whose messages these are
}

// relay hands on what comes in at one end, until ctx ends.
func (m *testModem) relay(ctx context.Context, in, out *serialio.Port) {
	swallowed, starts := m.places()
	n := 0
	for {
		var a frame.Arrival
		var ok bool
		select {
		case <-ctx.Done():
			return
		case a, ok = <-in.Arrivals():
		}
		if !ok {
			return
		}
		for _, c := range a.Chars {
			if m.stray && starts[n] {
				m.send(ctx, out, a.At, 0x55)
			}
			if m.garble[n] {
				c ^= 0x11
			}
			if !swallowed[n] {
				m.send(ctx, out, a.At, c)
			}
			n++
		}
	}
}

// places are the characters that are swallowed, and those that begin a message.
func (m *testModem) places() (swallowed, starts map[int]bool) {
	swallowed, starts = map[int]bool{}, map[int]bool{}
	n := 0
	for i := range m.plan {
		if m.plan[i].From != m.from {
			continue
		}
		starts[n] = true
		for k := range m.swallow {
			swallowed[n+k] = true
		}
		n += len(m.plan[i].Chars())
	}
	return swallowed, starts
}

// send has a character that came in at at come out later; a port counts from its start.
func (m *testModem) send(ctx context.Context, out *serialio.Port, at time.Time, c byte) {
	out.Send(ctx, at.Add(m.late-frame.Character), 0, 0, []byte{c})
}

// modemPTYs makes two ptys with a modem for each way between them.
func modemPTYs(t *testing.T, there, back *testModem) (a, b string) {
	t.Helper()
	folder := t.TempDir()
	a, b = filepath.Join(folder, "a"), filepath.Join(folder, "b")
	join(t, newPTY(t, a), newPTY(t, b), there, back)
	return a, b
}

func newPTY(t *testing.T, link string) *serialio.Port {
	t.Helper()
	p, err := serialio.NewPTY(link)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close() })
	return p
}

// join has modems work between two ports, both ways, until the test ends.
func join(t *testing.T, a, b *serialio.Port, there, back *testModem) {
	ctx, stop := context.WithCancel(context.Background())
	var work sync.WaitGroup
	work.Go(func() { there.relay(ctx, a, b) })
	if back != nil {
		work.Go(func() { back.relay(ctx, b, a) })
	}
	t.Cleanup(func() { stop(); work.Wait() })
}

// A modemReport is what check-modem says with --json.
type modemReport struct {
	exit     int
	ways     []modemWay
	verdicts map[string]string // of each limit; broken where one way is
}

type modemWay struct {
	From, To   string
	Characters struct{ Sent, Values, Heard, Lost, Wrong, Extra int }
	Extra      struct{ Before, Behind, Between, Within, Silence int }
	Messages   struct{ Sent, Whole, Damaged, Lost, Joined int }
	Swallowed  struct{ Preambles, Messages, Most int }
	Gaps       int
	Late       int
	Parity     *int `json:"parity_errors"`
}

func checkModem(t *testing.T, args ...string) (r modemReport) {
	t.Helper()
	cmd := looptone(t, append([]string{"check-modem", "--json", "--yes"}, args...)...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if r.exit = cmd.ProcessState.ExitCode(); r.exit != 0 && r.exit != 3 {
		t.Fatalf("%v: %s", err, stderr.Bytes())
	}
	r.verdicts = map[string]string{}
	for line := range bytes.Lines(out) {
		var o struct {
			modemWay
			Limit, Verdict string
		}
		if err := json.Unmarshal(line, &o); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		switch {
		case o.Limit != "":
			if r.verdicts[o.Limit] != "broken" {
				r.verdicts[o.Limit] = o.Verdict
			}
		case o.Characters.Sent > 0:
			r.ways = append(r.ways, o.modemWay)
		}
	}
	t.Logf("%s%s", stderr.Bytes(), out)
	return r
}

// wantBroken fails when other limits are broken than are wanted.
func (r *modemReport) wantBroken(t attempt, want ...string) {
	t.Helper()
	wanted := map[string]bool{}
	for _, w := range want {
		wanted[w] = true
	}
	for limit, verdict := range r.verdicts {
		if (verdict == "broken") != wanted[limit] {
			t.Errorf("%s: %s", limit, verdict)
		}
	}
	if want := min(len(want), 1) * 3; r.exit != want {
		t.Errorf("exit code %d, want %d", r.exit, want)
	}
}

// An attempt is what a test may say while it may still be tried again.
type attempt interface {
	Helper()
	Errorf(format string, args ...any)
}

// attempts keeps what was wrong with one.
type attempts struct {
	*testing.T
	wrong []string
}

func (a *attempts) Errorf(format string, args ...any) {
	a.wrong = append(a.wrong, fmt.Sprintf(format, args...))
}

// unstalled tries a test again while the machine has stalled in it for longer than a
// character: a pty cannot tell that from what a modem does.
func unstalled(t *testing.T, try func(*attempts)) {
	t.Helper()
	for range 4 {
		a := &attempts{T: t}
		stall := watchStalls(func() { try(a) })
		if len(a.wrong) == 0 {
			return
		}
		if stall < frame.Character {
			t.Fatalf("%q", a.wrong)
		}
		t.Logf("the machine stalled for %v: %q", stall, a.wrong)
	}
	t.Skip("the machine stalls all the time")
}

// watchStalls is how much longer than it wanted to a goroutine has slept at the most.
func watchStalls(do func()) (longest time.Duration) {
	done, watched := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(watched)
		const nap = 2 * time.Millisecond
		tick := time.NewTicker(nap)
		defer tick.Stop()
		last := time.Now()
		for {
			select {
			case <-done:
				return
			case <-tick.C:
				longest = max(longest, time.Since(last)-nap)
				last = time.Now()
			}
		}
	}()
	do()
	close(done)
	<-watched
	return longest
}

const modemSeed, modemMessages = 5, 6

func modemArgs(args ...string) []string {
	return append(args, "--seed", strconv.Itoa(modemSeed), "--messages", strconv.Itoa(modemMessages))
}

// TestTimingCheckModemClean: a modem that does nothing wrong has no finding, on ptys and
// on TCP; and what those cannot show is not measurable.
func TestTimingCheckModemClean(t *testing.T) {
	t.Run("loopback", func(t *testing.T) {
		unstalled(t, cleanLoopback)
	})
	t.Run("ptys", func(t *testing.T) { unstalled(t, cleanPair) })
	t.Run("TCP", func(t *testing.T) { unstalled(t, cleanTCP) })
	t.Run("line", func(t *testing.T) { unstalled(t, cleanLine) })
}

func cleanLoopback(t *attempts) {
	link := filepath.Join(t.TempDir(), "a")
	p := newPTY(t.T, link)
	join(t.T, p, p, &testModem{}, nil)
	r := checkModem(t.T, modemArgs("--port", link, "--loopback")...)
	r.wantBroken(t)
	if len(r.ways) != 1 || r.ways[0].Messages.Whole != modemMessages || r.ways[0].Parity != nil {
		t.Errorf("%+v", r.ways)
	}
	for _, limit := range []string{"parity and framing", "carrier on", "carrier off", "slave time-out", "tones", "carrier detection"} {
		if r.verdicts[limit] != "not measurable with this hook-up" {
			t.Errorf("%s: %s", limit, r.verdicts[limit])
		}
	}
}

func cleanPair(t *attempts) {
	a, b := modemPTYs(t.T, &testModem{}, &testModem{})
	r := checkModem(t.T, modemArgs("--port", a, "--second", b)...)
	r.wantBroken(t)
	if len(r.ways) != 2 || r.ways[0].Messages.Whole+r.ways[1].Messages.Whole != modemMessages {
		t.Errorf("%+v", r.ways)
	}
}

func cleanTCP(t *attempts) {
	a, b := modemTCP(t.T)
	r := checkModem(t.T, modemArgs("--tcp", a, "--second-tcp", b)...)
	r.wantBroken(t)
}

func cleanLine(t *attempts) {
	a, b := modemPTYs(t.T, &testModem{}, &testModem{})
	r := checkModem(t.T, modemArgs("--port", a, "--second", b, "--demo")...)
	r.wantBroken(t)
	if r.verdicts["slave time-out"] != "kept" || len(r.ways) != 2 || r.ways[1].Messages.Whole != modemMessages {
		t.Errorf("%v %+v", r.verdicts, r.ways)
	}
}

// modemTCP is two TCP servers with a clean modem between them.
func modemTCP(t *testing.T) (a, b string) {
	t.Helper()
	var listeners [2]*serialio.Listener
	for i := range listeners {
		l, err := serialio.Listen("127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { l.Close() })
		listeners[i] = l
	}
	go func() {
		var ports [2]*serialio.Port
		for i, l := range listeners {
			p, err := l.Accept()
			if err != nil {
				return
			}
			ports[i] = p
		}
		ctx := context.Background()
		go (&testModem{}).relay(ctx, ports[1], ports[0])
		(&testModem{}).relay(ctx, ports[0], ports[1])
	}()
	return listeners[0].Addr(), listeners[1].Addr()
}

// TestTimingCheckModemFinds: everything that is wrong with a modem is found and counted.
func TestTimingCheckModemFinds(t *testing.T) {
	plan := modemcheck.Plan(modemSeed, modemMessages, 1)
	tests := []struct {
		name  string
		modem testModem
		want  []string
		right func(*modemWay) bool
	}{
		{"swallows 3 preambles", testModem{swallow: 3}, []string{"preambles swallowed"},
			func(w *modemWay) bool {
				return w.Swallowed.Preambles == 3*modemMessages && w.Swallowed.Most == 3 && w.Messages.Whole == modemMessages
			}},
		{"stray character", testModem{stray: true}, []string{"stray characters"},
			func(w *modemWay) bool {
				return w.Characters.Extra == modemMessages && w.Extra.Before+w.Extra.Between == modemMessages
			}},
		{"keys late", testModem{late: 40 * time.Millisecond}, []string{"turn-around"},
			func(w *modemWay) bool { return w.Late == modemMessages }},
		{"garbles", testModem{garble: map[int]bool{40: true, 300: true}}, []string{"messages", "characters wrong"},
			func(w *modemWay) bool { return w.Characters.Wrong == 2 && w.Characters.Lost == 0 }},
		{"swallows, garbles, keys late", testModem{swallow: 3, late: 40 * time.Millisecond, garble: map[int]bool{300: true}},
			[]string{"preambles swallowed", "turn-around", "messages", "characters wrong"},
			func(w *modemWay) bool {
				return w.Characters.Wrong == 1 && w.Swallowed.Preambles == 3*modemMessages && w.Late == modemMessages
			}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			tt.modem.plan = plan
			unstalled(t, func(t *attempts) {
				link := filepath.Join(t.TempDir(), "a")
				p := newPTY(t.T, link)
				join(t.T, p, p, &tt.modem, nil)
				r := checkModem(t.T, modemArgs("--port", link, "--loopback")...)
				r.wantBroken(t, tt.want...)
				if len(r.ways) != 1 || !tt.right(&r.ways[0]) {
					t.Errorf("%+v", r.ways)
				}
			})
		})
	}
}
