package page_test

import (
	"slices"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

// What cannot be done is refused with a sentence that names the field, what was got,
// and what would be right; and nothing is done.
func TestWrongWishes(t *testing.T) {
	long := strings.Repeat("x", 300)
	for _, c := range []struct{ wish, want string }{
		{`{"do":"dance"}`, `do: got "dance", want one of scan, poll, quiet, send, act, undo`},
		{`{"do":"scan","by":"` + long[:41] + `"}`, "by: got 41 characters, want 40 at the most"},
		{`{"do":"scan","as":"tertiary"}`, `as: got "tertiary", want primary or secondary`},
		{`{"do":"scan","to":64}`, "to: got 64, want 0 to 63, the last polling address that is asked"},
		{`{"do":"scan","to":-1}`, "to: got -1, want 0 to 63, the last polling address that is asked"},
		{`{"do":"poll","device":"PT-9","command":3}`, `device: got "PT-9", want one of PT-1, PT-2, TT-3`},
		{`{"do":"poll","command":6}`, "command: got 6 (write polling address), which writes, want one that only reads, for instance 3"},
		{`{"do":"poll","command":9999}`, "command: got 9999, of which nothing is known, want one that only reads, for instance 3"},
		{`{"do":"poll","command":70000}`, "command: got 70000, want 0 to 65535"},
		{`{"do":"poll","command":-1}`, "command: got -1, want 0 to 65535"},
		{`{"do":"poll","device":"PT-1","command":3,"every":0.1}`, "every: got 0.1 s, want 0 (whenever there is a turn), or 0.49 s and more: asking and answering takes so long"},
		{`{"do":"poll","device":"PT-1","command":3,"every":-1}`, "every: got -1 s, want 0 (whenever there is a turn) to 86400 s"},
		{`{"do":"poll","device":"PT-1","command":3,"every":86401}`, "every: got 86401 s, want 0 (whenever there is a turn) to 86400 s"},
		{`{"do":"poll","device":"PT-1","command":9}`, "fields: command 9 (read device variables with status): slot 0: device variable code is missing"},
		{`{"do":"quiet","as":"secondary"}`, "as: the secondary master asks nothing, want the other one, or nothing to be done"},
		{`{"do":"send","command":1}`, "device: none is given, want one of PT-1, PT-2, TT-3"},
		{`{"do":"send","device":"pt-1","command":1}`, `device: got "pt-1", want one of PT-1, PT-2, TT-3`},
		{`{"do":"send","device":"PT-1","polling":1,"command":1}`, `polling: got 1 beside device "PT-1", want one of the two`},
		{`{"do":"send","polling":64,"command":0}`, "polling: got 64, want 0 to 63"},
		{`{"do":"send","polling":7,"command":1}`, "polling: nobody of this line is at polling address 7: want another one, or command 0, which asks who is there"},
		{`{"do":"send","device":"PT-1","command":34}`, "fields: command 34 (write primary variable damping value): damping is missing"},
		{`{"do":"send","device":"PT-1","command":34,"fields":{"dampng":3}}`, `fields: command 34 (write primary variable damping value): no such field: got "dampng": did you mean damping?`},
		{`{"do":"send","device":"PT-1","command":34,"fields":{"damping":"slow"}}`, ""},
		{`{"do":"send","device":"PT-1","command":34,"fields":{"damping":true}}`, "fields: got true for damping, want a number or a text"},
		{`{"do":"send","device":"PT-1","command":34,"fields":{"damping":{}}}`, "fields: got map[] for damping, want a number or a text"},
		{`{"do":"send","device":"PT-1","command":17,"fields":{"message":"` + long + `"}}`, "fields: got 300 bytes for message, want 256 at the most"},
		{`{"do":"send","device":"PT-1","command":6,"fields":{"polling address":300,"loop current mode":"enabled"}}`, ""},
		{`{"do":"send","device":"PT-1","command":6,"fields":{"polling address":5,"loop current mode":"perhaps"}}`, ""},
		{`{"do":"send","device":"PT-1","command":1234,"fields":{"a":1}}`, "fields: nothing is known of those of command 1234: want its data as hex"},
		{`{"do":"send","device":"PT-1","command":9,"data":"0g"}`, `data: got "0g", want pairs of hex digits`},
		{`{"do":"send","device":"PT-1","command":9,"data":"00","fields":{"a":1}}`, `data: got "00" beside fields, want one of the two`},
		{`{"do":"send","device":"PT-1","command":9,"data":"` + strings.Repeat("00", 256) + `"}`, "data: got 256 bytes, want fewer: they do not fit into a request of command 9"},
		{`{"do":"send","device":"PT-1","command":9,"data":"` + strings.Repeat("00", 300) + `"}`, "data: got 600 hex digits, want 512 at the most"},
		{`{"do":"act"}`, `action: got none, want for instance {"mute":"PT-101"}`},
		{`{"do":"act","action":{"mute":"PT-9"}}`, ""},
		{`{"do":"act","action":{"mute":"PT-1","time":5}}`, `action: got the key "time", want an action without it: it is done now`},
		{`{"do":"act","action":{"stop":true}}`, `action: got the key "stop", want the wish pause`},
		{`{"do":"act","action":{"go":true}}`, `action: got the key "go", want the wish go`},
		{`{"do":"act","action":{"set":"PT-1.polling","to":2}}`, `polling address 2 is that of "PT-2": want another one, or allow_duplicate = true for one of the two`},
		{`{"do":"act","action":{"set":"PT-1.range","to":{"lower":0,"upper":99}}}`, "range.upper: got 99 bar, want 0 to 10 bar, the sensor's limits"},
		{`{"do":"act","action":{"set":"line.supply_v","to":-1}}`, ""},
		{`{"do":"act","action":{"remove":"noise"}}`, `no fault is named "noise": there is none`},
		{`{"do":"act","action":{"fault":{"kind":"gremlin"}}}`, ""},
		{`{"do":"act","action":{"set":"PT-1.message","to":"` + strings.Repeat(long, 60) + `"}}`, ""},
		{`{"do":"undo"}`, "undo: nothing was done from here that could be undone, want something done first"},
	} {
		t.Run(c.wish[:min(len(c.wish), 80)], func(t *testing.T) {
			r := described(t, bench)
			for _, preview := range []bool{true, false} {
				w := wish(t, c.wish)
				w.Preview = preview
				o := r.Do(w)
				switch {
				case o.OK:
					t.Fatalf("it was done: %s", o.Says)
				case c.want != "" && o.Error != c.want:
					t.Errorf("got  %q\nwant %q", o.Error, c.want)
				case c.want == "" && !strings.Contains(o.Error, "want ") && !strings.Contains(o.Error, "is not a number"):
					t.Errorf("it does not say what would be right: %q", o.Error)
				}
			}
			if r.run(2 * sim.Second); len(r.said) > 0 || r.standing().Undo != "" {
				t.Errorf("it was refused, and %d messages were sent; undo %q", len(r.said), r.standing().Undo)
			}
		})
	}
}

// Where somebody outside is on the line a write is sent behind the caution only, and
// the page's master is the secondary one unless it is told otherwise.
func TestCaution(t *testing.T) {
	r := described(t, bench)
	r.Outside, r.Caution = func() bool { return true }, "Read this first."
	const write = `{"do":"send","device":"PT-1","command":34,"fields":{"damping":3}`
	o := r.wants(write + `,"preview":true}`)
	if o.Caution != r.Caution {
		t.Errorf("the caution is %q, want %q", o.Caution, r.Caution)
	}
	o = r.Do(wish(t, write+"}"))
	if o.OK || o.Caution != r.Caution || !strings.HasPrefix(o.Error, "yes: ") {
		t.Errorf("got %+v, want it refused with the caution", o)
	}
	if r.run(3 * sim.Second); len(r.said) > 0 {
		t.Fatalf("it was sent all the same: %x", r.said)
	}
	r.wants(write + `,"yes":true}`)
	r.run(3 * sim.Second)
	if len(r.by("secondary master", 0)) != 2 {
		t.Errorf("got %x, want a question and a write of the secondary master", r.said)
	}
	if o := r.Do(wish(t, `{"do":"undo"}`)); o.OK || o.Caution == "" {
		t.Errorf("got %+v, want undoing to be a write too", o)
	}
	if o := r.wants(`{"do":"send","device":"PT-1","command":1}`); o.Caution != "" {
		t.Errorf("got a caution for what reads: %q", o.Caution)
	}
}

// A message that nobody answers is told, and is nothing to undo.
func TestNobodyAnswers(t *testing.T) {
	r := described(t, bench)
	r.wants(`{"do":"act","action":{"mute":"PT-1"}}`)
	r.wants(`{"do":"send","device":"PT-1","command":34,"fields":{"damping":3}}`)
	if o := r.Do(wish(t, `{"do":"undo"}`)); o.OK || o.Error != "undo: a message is still under way, want it answered first" {
		t.Errorf("got %+v", o)
	}
	r.run(20 * sim.Second)
	const want = "command 34 (write primary variable damping value) to PT-1: nobody has answered"
	if len(r.news) != 1 || r.news[0] != want {
		t.Errorf("got  %q\nwant %q", r.news, want)
	}
	if o := r.wants(`{"do":"undo"}`); o.Says != "PT-1 is heard again" || o.Action != `{"unmute":"PT-1"}` {
		t.Errorf("got %+v", o)
	}
}

// What could not be written back can be undone still.
func TestUndoThatFails(t *testing.T) {
	r := described(t, bench)
	r.wants(`{"do":"send","device":"PT-1","command":34,"fields":{"damping":3}}`)
	r.run(3 * sim.Second)
	undo := r.standing().Undo
	r.line.Seats[0].Mute(true)
	r.wants(`{"do":"undo"}`)
	if r.run(20 * sim.Second); r.standing().Undo != undo || undo == "" {
		t.Errorf("got %q, want %q", r.standing().Undo, undo)
	}
	r.line.Seats[0].Mute(false)
	r.wants(`{"do":"undo"}`)
	if r.run(5 * sim.Second); r.standing().Undo != "" {
		t.Errorf("got %q, want nothing left", r.standing().Undo)
	}
}

// Two at one polling address are both asked by command 0, and by nothing else.
func TestSharedAddress(t *testing.T) {
	r := described(t, bench)
	r.wants(`{"do":"act","action":{"fault":{"kind":"shared address","device":"PT-1","with":"PT-2"}}}`)
	const want = "polling: PT-1 and PT-2 share polling address 2: want a device by its tag, or command 0, which asks all of them"
	if o := r.Do(wish(t, `{"do":"send","polling":2,"command":1}`)); o.OK || o.Error != want {
		t.Errorf("got  %q\nwant %q", o.Error, want)
	}
	r.wants(`{"do":"send","polling":2,"command":0}`)
}

// Where somebody outside may be on the line, the page's master stops when another one of
// its kind is heard there, and may be asked again.
func TestRival(t *testing.T) {
	r := described(t, bench)
	r.Outside = func() bool { return true }
	r.wants(`{"do":"poll","as":"primary","command":3}`)
	r.run(5 * sim.Second)
	r.wants(`{"do":"act","action":{"fault":{"kind":"second primary master"}}}`)
	r.run(20 * sim.Second)
	const want = "the primary master stops: somebody else asks as the primary master too"
	if s := r.standing(); len(r.news) != 1 || r.news[0] != want || len(s.Polls) > 0 {
		t.Errorf("got %q and %q, want %q and no polls", r.news, s.Polls, want)
	}
	r.wants(`{"do":"act","action":{"remove":"second primary master"}}`)
	r.wants(`{"do":"poll","as":"primary","command":3}`)
	before := len(r.said)
	if r.run(5 * sim.Second); len(r.by("primary master", before)) < 5 {
		t.Errorf("got %d requests in 5 s, want 5 or more", len(r.by("primary master", before)))
	}
}

// A rival asks once as the primary master.
type rival struct{ at sim.Tick }

func (x *rival) Step(now sim.Tick, _ []sim.Heard) (*sim.Burst, sim.Tick) {
	if now < x.at {
		return nil, x.at
	}
	x.at = sim.Never
	request := frame.Frame{Kind: frame.STX, Address: frame.Polling(9), Primary: true}
	chars, err := request.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		panic(err)
	}
	return &sim.Burst{At: now, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars}, sim.Never
}

// rival has somebody outside ask as the primary master, in so much time.
func (r *rig) rival(in sim.Tick) { r.line.Line.Join(&rival{r.line.Line.Now() + in}) }

const rivalSays = "the primary master stops: somebody else asks as the primary master too"

// What a master still had to send when it stopped is told, message by message.
func TestRivalBeforeSending(t *testing.T) {
	r := described(t, bench)
	r.Outside = func() bool { return true }
	r.rival(0)
	r.run(sim.Second / 100)
	r.wants(`{"do":"send","as":"primary","device":"PT-1","command":1}`)
	r.wants(`{"do":"send","as":"primary","device":"PT-2","command":34,"fields":{"damping":2},"yes":true}`)
	r.run(20 * sim.Second)
	want := []string{
		rivalSays,
		"command 1 (read primary variable) to PT-1 was not sent: the primary master has stopped",
		"command 34 (write primary variable damping value) to PT-2 was not sent: the primary master has stopped",
	}
	if !slices.Equal(r.news, want) {
		t.Errorf("got  %q\nwant %q", r.news, want)
	}
	if o := r.Do(wish(t, `{"do":"undo"}`)); o.Error != "undo: nothing was done from here that could be undone, want something done first" {
		t.Errorf("got %+v, want nothing under way and nothing done", o)
	}
}

// A request that was sent when its master stopped may have been carried out.
func TestRivalBeforeTheAnswer(t *testing.T) {
	r := described(t, bench)
	r.Outside = func() bool { return true }
	r.wants(`{"do":"send","as":"primary","device":"PT-1","command":34,"fields":{"damping":3},"yes":true}`)
	for len(r.by("primary master", 0)) < 2 { // behind the question what it has
		r.run(sim.Second / 100)
	}
	r.line.Seats[0].Mute(true)
	r.rival(sim.Second / 4)
	r.run(20 * sim.Second)
	want := []string{rivalSays,
		"command 34 (write primary variable damping value) to PT-1 may have been carried out: the primary master has stopped while it was under way"}
	if !slices.Equal(r.news, want) {
		t.Errorf("got  %q\nwant %q", r.news, want)
	}
}

// What the master did not come to undo can be undone once more.
func TestRivalBeforeUndoing(t *testing.T) {
	r := described(t, bench)
	r.Outside = func() bool { return true }
	r.wants(`{"do":"send","as":"primary","device":"PT-1","command":34,"fields":{"damping":3},"yes":true}`)
	r.run(3 * sim.Second)
	undo := r.standing().Undo
	r.rival(0)
	r.run(sim.Second / 100)
	r.wants(`{"do":"undo","yes":true}`)
	r.run(20 * sim.Second)
	if got := r.standing().Undo; got != undo || undo == "" {
		t.Errorf("undo: got %q, want %q", got, undo)
	}
	if n := len(r.news); n != 3 || !strings.HasPrefix(r.news[2], "command 34 ") || r.news[1] != rivalSays {
		t.Errorf("got %q, want it told that the master has stopped, and what was not sent", r.news)
	}
}

// Who has the master leave the line is told what it did not send any more; who closes the
// page is not.
func TestLeaveBeforeSending(t *testing.T) {
	r := described(t, bench)
	const send = `{"do":"send","as":"secondary","device":"PT-1","command":1}`
	r.wants(send)
	r.wants(`{"do":"quiet","as":"secondary"}`)
	want := []string{"command 1 (read primary variable) to PT-1 was not sent: the secondary master has stopped"}
	if !slices.Equal(r.news, want) {
		t.Errorf("got  %q\nwant %q", r.news, want)
	}
	r.wants(send)
	if r.Close(); len(r.news) > 1 {
		t.Errorf("got %q once more at the end", r.news[1:])
	}
}
