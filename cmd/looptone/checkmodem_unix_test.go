//go:build unix

package main_test

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"slices"
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

// timed are the limits that a machine that stalls can break as well as a modem can. No
// test fails for one of them, but where all attempts break one.
var timed = map[string]bool{"turn-around": true, "gaps": true, "pauses": true, "slave time-out": true}

// inTime reports whether none of them is broken.
func (r *modemReport) inTime() bool {
	for limit := range timed {
		if r.verdicts[limit] == "broken" {
			return false
		}
	}
	return true
}

// wantBroken fails when other limits are broken than are wanted.
func (r *modemReport) wantBroken(t *testing.T, want ...string) {
	t.Helper()
	broken := 0
	for limit, verdict := range r.verdicts {
		is, wanted := verdict == "broken", slices.Contains(want, limit)
		if is {
			broken++
		}
		if is != wanted && (wanted || !timed[limit]) {
			t.Errorf("%s: %s", limit, verdict)
		}
	}
	if want := min(broken, 1) * 3; r.exit != want {
		t.Errorf("exit code %d, want %d", r.exit, want)
	}
}

// The messages of a test, which take 6 s: with none and with 255 data bytes, back to back
// and spaced.
const modemSeed, modemMessages = 5, 4

func modemArgs(args ...string) []string {
	return append(args, "--seed", strconv.Itoa(modemSeed), "--messages", strconv.Itoa(modemMessages))
}

// TestTimingCheckModemClean: of a modem that does nothing wrong nothing is found, on ptys
// and on TCP; and what those cannot show is not measurable. In time everything must be
// once.
func TestTimingCheckModemClean(t *testing.T) {
	const attempts = 5
	for name, test := range map[string]func(*testing.T) modemReport{
		"loopback": cleanLoopback, "ptys": cleanPair, "TCP": cleanTCP, "line": cleanLine,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for range attempts {
				if r := test(t); r.inTime() || t.Failed() {
					return
				}
			}
			t.Errorf("not in time in %d attempts", attempts)
		})
	}
}

func cleanLoopback(t *testing.T) modemReport {
	link := filepath.Join(t.TempDir(), "a")
	p := newPTY(t, link)
	join(t, p, p, &testModem{}, nil)
	r := checkModem(t, modemArgs("--port", link, "--loopback")...)
	r.wantBroken(t)
	r.wantWhole(t, 1)
	if r.ways[0].Parity != nil {
		t.Errorf("parity errors on a pty: %+v", r.ways)
	}
	for _, limit := range []string{"parity and framing", "carrier on", "carrier off", "slave time-out", "tones", "carrier detection"} {
		if r.verdicts[limit] != "not measurable with this hook-up" {
			t.Errorf("%s: %s", limit, r.verdicts[limit])
		}
	}
	return r
}

// wantWhole fails when not every message came as it was sent, all ways together.
func (r *modemReport) wantWhole(t *testing.T, ways int) {
	t.Helper()
	whole, sent := 0, 0
	for _, w := range r.ways {
		whole, sent = whole+w.Messages.Whole, sent+w.Messages.Sent
		if w.Messages.Sent == 0 {
			t.Errorf("nothing was sent from %s to %s", w.From, w.To)
		}
	}
	if len(r.ways) != ways || sent < modemMessages || whole != sent {
		t.Errorf("%d ways, %d messages, %d whole", len(r.ways), sent, whole)
	}
}

func cleanPair(t *testing.T) modemReport {
	a, b := modemPTYs(t, &testModem{}, &testModem{})
	r := checkModem(t, modemArgs("--port", a, "--second", b)...)
	r.wantBroken(t)
	r.wantWhole(t, 2)
	return r
}

func cleanTCP(t *testing.T) modemReport {
	a, b := modemTCP(t)
	r := checkModem(t, modemArgs("--tcp", a, "--second-tcp", b)...)
	r.wantBroken(t)
	r.wantWhole(t, 2)
	return r
}

func cleanLine(t *testing.T) modemReport {
	a, b := modemPTYs(t, &testModem{}, &testModem{})
	r := checkModem(t, modemArgs("--port", a, "--second", b, "--demo")...)
	r.wantBroken(t)
	r.wantWhole(t, 2)
	if r.verdicts["slave time-out"] == "not measurable with this hook-up" || r.ways[1].Messages.Sent != modemMessages {
		t.Errorf("%v %+v", r.verdicts, r.ways)
	}
	return r
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
			link := filepath.Join(t.TempDir(), "a")
			p := newPTY(t, link)
			join(t, p, p, &tt.modem, nil)
			r := checkModem(t, modemArgs("--port", link, "--loopback")...)
			r.wantBroken(t, tt.want...)
			if len(r.ways) != 1 || !tt.right(&r.ways[0]) {
				t.Errorf("%+v", r.ways)
			}
		})
	}
}
