package page_test

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"looptone/cmd/looptone/page"
	"looptone/frame"
	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/master"
)

// A rig is a line, hands on it, and all that was said on it.
type rig struct {
	*testing.T
	*page.Hands
	line *linefile.Assembly
	said []said
	news []string
}

type said struct {
	by    string
	chars []byte
}

func newRig(t *testing.T, d *linefile.Description) *rig {
	t.Helper()
	a, err := d.Assemble(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	r := &rig{T: t, Hands: page.NewHands(d, a), line: a}
	r.News = func(_, says string) { r.news = append(r.news, says) }
	a.Line.Log(func(talker *sim.Seat, b *sim.Burst) {
		r.said = append(r.said, said{talker.Name, bytes.Clone(b.Chars)})
	})
	t.Cleanup(func() { r.Close(); a.Close() })
	return r
}

func demonstration(t *testing.T) *rig { return newRig(t, linefile.Demonstration()) }

func described(t *testing.T, text string) *rig {
	t.Helper()
	d, err := linefile.Parse("test.toml", []byte(text), nil)
	if err != nil {
		t.Fatal(err)
	}
	return newRig(t, d)
}

// wish reads a wish as a browser writes it.
func wish(t *testing.T, text string) *page.Wish {
	t.Helper()
	var w page.Wish
	if err := json.Unmarshal([]byte(text), &w); err != nil {
		t.Fatal(text, err)
	}
	return &w
}

// wants has a wish done.
func (r *rig) wants(text string) page.Outcome {
	r.Helper()
	o := r.Do(wish(r.T, text))
	if !o.OK {
		r.Fatalf("%s: %s", text, o.Error)
	}
	return o
}

// run lets the line go on.
func (r *rig) run(t sim.Tick) { r.line.Line.Run(r.line.Line.Now() + t) }

func (r *rig) standing() (s page.Standing) {
	r.Stand(&s)
	return s
}

// by is what somebody has said since a moment at which so much had been said.
func (r *rig) by(name string, since int) (list []string) {
	for _, s := range r.said[since:] {
		if s.by == name {
			list = append(list, hex.EncodeToString(s.chars))
		}
	}
	return list
}

// Each message that is sent is the one that was shown before, to the byte.
func TestSentAsShown(t *testing.T) {
	for _, text := range []string{
		`{"do":"send","device":"LT-103","command":0}`,
		`{"do":"send","device":"LT-103","command":1}`,
		`{"do":"send","polling":3,"command":0}`,
		`{"do":"send","polling":6,"command":3}`,
		`{"do":"send","device":"FT-102","command":3,"as":"secondary"}`,
		`{"do":"send","device":"LT-103","command":6,"fields":{"polling address":9,"loop current mode":"disabled"}}`,
		`{"do":"send","device":"TT-106","command":6,"fields":{"polling address":0}}`,
		`{"do":"send","device":"LT-104","command":34,"fields":{"damping":2.5}}`,
		`{"do":"send","device":"LT-104","command":35,"fields":{"unit":"kPa","upper range value":20,"lower range value":1}}`,
		`{"do":"send","device":"FC-105","command":40,"fields":{"fixed loop current":12}}`,
		`{"do":"send","device":"LT-103","command":9,"data":"00f6"}`,
		`{"do":"send","device":"LT-103","command":108,"fields":{"command number":3,"burst message":0}}`,
		`{"do":"send","device":"LT-103","command":109,"fields":{"burst control":1,"burst message":0}}`,
		`{"do":"send","device":"LT-103","command":1234}`,
	} {
		t.Run(text, func(t *testing.T) {
			r := demonstration(t)
			w := wish(t, text)
			w.Preview = true
			shown := r.Do(w)
			if !shown.OK || shown.Hex == "" || len(shown.Boxes) < 6 || shown.Says == "" {
				t.Fatalf("shown: %+v", shown)
			}
			if r.run(5 * sim.Second); len(r.said) > 0 {
				t.Fatalf("a preview has sent %d messages", len(r.said))
			}
			r.wants(text)
			r.run(5 * sim.Second)
			who := "primary master"
			if w.As != "" {
				who = w.As + " master"
			}
			sent := r.by(who, 0)
			if len(sent) == 0 || sent[len(sent)-1] != shown.Hex {
				t.Errorf("got  %q\nwant %s", sent, shown.Hex)
			}
			if n := r.standing(); len(n.Polls) > 0 || n.Scan {
				t.Errorf("a single message left %+v behind", n)
			}
		})
	}
}

// The bytes of a message are those that a slide rule makes: a request of the primary
// master for command 1 to polling address 0.
//
// Source: Buerkert, Type 8605 description of communication, p.14 (the check byte is the
// exclusive or of all from the delimiter on); the rest from the layout in package frame.
func TestShownBytes(t *testing.T) {
	r := demonstration(t)
	o := r.wants(`{"do":"send","polling":3,"command":0,"preview":true}`)
	const want = "02830000" + "81"
	if !strings.HasSuffix(o.Hex, want) || strings.Trim(strings.TrimSuffix(o.Hex, want), "f") != "" {
		t.Errorf("got %s, want FF characters and %s", o.Hex, want)
	}
}

// A scan asks the addresses in turn, says what it has found, and does not keep what is
// polled from going on.
func TestScan(t *testing.T) {
	r := demonstration(t)
	r.wants(`{"do":"poll","command":3,"every":3}`)
	r.run(10 * sim.Second)
	shown := r.wants(`{"do":"scan","preview":true,"to":8}`)
	before := len(r.said)
	r.wants(`{"do":"scan","to":8}`)
	if !r.standing().Scan {
		t.Error("no scan goes on")
	}
	r.run(30 * sim.Second)
	if r.standing().Scan {
		t.Error("the scan does not end")
	}
	sent := strings.Join(r.by("primary master", before), " ")
	if !strings.Contains(sent, shown.Hex) {
		t.Errorf("the first message of the scan was not sent: %s", shown.Hex)
	}
	const want = "the scan has found 6: PT-101 at 1, FT-102 at 2, LT-103 at 3, LT-104 at 4, FC-105 at 5, TT-106 at 6"
	if len(r.news) != 1 || r.news[0] != want {
		t.Errorf("got  %q\nwant %q", r.news, want)
	}
	before = len(r.said)
	if r.run(10 * sim.Second); len(r.by("primary master", before)) < 15 {
		t.Errorf("got %d requests behind the scan in 10 s, want some 20", len(r.by("primary master", before)))
	}
}

// A message does not wait until a poll is due.
func TestSendBetweenPolls(t *testing.T) {
	r := demonstration(t)
	r.wants(`{"do":"poll","device":"LT-103","command":3,"every":60}`)
	r.run(5 * sim.Second)
	before := len(r.said)
	o := r.wants(`{"do":"send","device":"LT-104","command":1}`)
	r.run(sim.Second)
	if sent := r.by("primary master", before); len(sent) != 1 || sent[0] != o.Hex {
		t.Errorf("got %q, want %s within a second", sent, o.Hex)
	}
	before = len(r.said)
	if r.run(60 * sim.Second); len(r.by("primary master", before)) != 1 {
		t.Errorf("got %d requests in a minute behind it, want the one that is due", len(r.by("primary master", before)))
	}
}

// A second master comes and goes, and both get their turns.
func TestSecondMaster(t *testing.T) {
	r := demonstration(t)
	r.wants(`{"do":"poll","command":3}`)
	r.wants(`{"do":"poll","command":1,"as":"secondary"}`)
	r.run(20 * sim.Second)
	want := []string{"the primary master polls all 6 devices for command 3 (read dynamic variables and loop current) whenever there is a turn",
		"the secondary master polls all 6 devices for command 1 (read primary variable) whenever there is a turn"}
	if got := r.standing().Polls; !reflect.DeepEqual(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
	first, second := len(r.by("primary master", 0)), len(r.by("secondary master", 0))
	if first < 15 || second < 15 {
		t.Errorf("got %d and %d requests in 20 s, want 15 or more of each", first, second)
	}
	r.wants(`{"do":"quiet","as":"secondary"}`)
	before := len(r.said)
	r.run(10 * sim.Second)
	if n := len(r.by("secondary master", before)); n > 1 {
		t.Errorf("got %d requests of who has left", n)
	}
	for _, seat := range r.line.Line.Seats() {
		if seat.Name == "secondary master" {
			t.Error("it is on the line still")
		}
	}
	if o := r.wants(`{"do":"undo"}`); !strings.HasPrefix(o.Says, "the secondary master polls all 6 devices") {
		t.Errorf("got %q", o.Says)
	}
	before = len(r.said)
	if r.run(10 * sim.Second); len(r.by("secondary master", before)) < 7 {
		t.Error("undone, and it is not back")
	}
}

const bench = `line = { name = "Bench" }
[[device]]
tag = "PT-1"
polling = 1
kind = "gauge"
damping_s = 0.5
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "constant", value = 5.0 }
[[device]]
tag = "PT-2"
polling = 2
kind = "gauge"
loop_current_mode = "modulated"
sensor = { lower = 0.0, upper = 10.0, unit = "bar" }
process = { model = "sine", low = 2, high = 8, period_s = 20, noise = 0.5 }
  [device.controller]
  mode = "manual"
  manual_percent = 40.0
[[device]]
tag = "TT-3"
polling = 3
kind = "temperature"
revision = 5
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "constant", value = 20.0 }
`

// A master of the line's description steps aside for the page's, which goes on with what
// it polled.
func TestMasterOfTheDescription(t *testing.T) {
	r := described(t, bench+"[[master]]\nkind = \"primary\"\npoll = [ { device = \"PT-1\", command = 1, every = \"1s\" } ]\n")
	r.run(5 * sim.Second)
	const polls = "the primary master polls PT-1 for command 1 (read primary variable) every 1 s"
	if got := r.standing().Polls; len(got) != 1 || got[0] != polls {
		t.Errorf("got  %q\nwant %q", got, polls)
	}
	o := r.wants(`{"do":"send","device":"TT-3","command":1}`)
	before := len(r.said)
	r.run(6 * sim.Second)
	sent := r.by("primary master", before)
	if len(sent) < 5 || !strings.Contains(strings.Join(sent, " "), o.Hex) {
		t.Errorf("got %q, want %s among what is polled", sent, o.Hex)
	}
	if got := r.standing().Polls; len(got) != 1 || got[0] != polls {
		t.Errorf("got  %q\nwant %q", got, polls)
	}
	masters := 0
	for _, seat := range r.line.Line.Seats() {
		if seat.Name == "primary master" {
			masters++
		}
	}
	if masters != 1 {
		t.Errorf("got %d primary masters, want 1", masters)
	}
}

// asked is what each device of the line answers to commands that read, statuses apart.
func (r *rig) asked() map[string]string {
	r.Helper()
	answers := map[string]string{}
	script := func(yield func(*master.Transaction) bool) {
		for _, d := range r.line.Devices {
			c := d.Config()
			for _, command := range []uint16{0, 1, 2, 7, 12, 13, 14, 15, 16, 20, 50, 105} {
				if command <= 2 && command > 0 && c.Tag == "PT-2" && !d.Parked() { // which moves
					if t := (master.Transaction{Address: c.Unique(), Command: 2, Preambles: 20}); !yield(&t) {
						return
					} else {
						answers["PT-2 fixed"] = fmt.Sprint(t.Reply.Status.Device&frame.LoopCurrentFixed != 0)
					}
					continue
				}
				t := master.Transaction{Address: c.Unique(), Command: command, Preambles: 20}
				if command == 105 && c.Revision == 7 {
					t.Data = []byte{0}
				}
				if !yield(&t) {
					return
				}
				data := bytes.Clone(t.Reply.Payload())
				if command == 0 && len(data) > 14 { // the configuration change counter goes on
					data[14], data[15] = 0, 0
				}
				answers[fmt.Sprint(c.Tag, " ", command)] = hex.EncodeToString(data)
			}
			second := master.Transaction{Address: c.Unique(), Command: 105, Data: []byte{1}, Preambles: 20}
			if c.Revision == 7 && !yield(&second) {
				return
			}
			answers[c.Tag+" second burst message"] = hex.EncodeToString(second.Reply.Payload())
			answers[c.Tag+" polling"] = fmt.Sprint(d.Polling())
		}
	}
	m := master.New(master.Config{Primary: true, Heedless: true}, script)
	defer m.Close()
	seat := r.line.Line.Join(m)
	for !m.Done() {
		r.run(sim.Second)
	}
	r.line.Line.Leave(seat)
	return answers
}

// What is undone is as it was: the devices answer the same, and what they measure is
// the same where it does not move.
func TestUndo(t *testing.T) {
	for _, text := range []string{
		`{"do":"send","device":"PT-1","command":6,"fields":{"polling address":9,"loop current mode":"enabled"}}`,
		`{"do":"send","device":"TT-3","command":6,"fields":{"polling address":0}}`,
		`{"do":"send","device":"PT-1","command":17,"fields":{"message":"HELLO CLASS"}}`,
		`{"do":"send","device":"PT-1","command":18,"fields":{"tag":"OTHER","descriptor":"ONE","date":"2031-02-03"}}`,
		`{"do":"send","device":"PT-1","command":19,"fields":{"final assembly number":77}}`,
		`{"do":"send","device":"PT-1","command":22,"fields":{"long tag":"Something long"}}`,
		`{"do":"send","device":"PT-1","command":34,"fields":{"damping":3}}`,
		`{"do":"send","device":"PT-2","command":35,"fields":{"unit":"bar","upper range value":8,"lower range value":1}}`,
		`{"do":"send","device":"PT-1","command":35,"fields":{"unit":"kPa","upper range value":800,"lower range value":100}}`,
		`{"do":"send","device":"PT-1","command":36}`,
		`{"do":"send","device":"PT-1","command":37}`,
		`{"do":"send","device":"PT-2","command":40,"fields":{"fixed loop current":12}}`,
		`{"do":"send","device":"PT-1","command":44,"fields":{"primary variable unit":"kPa"}}`,
		`{"do":"send","device":"PT-1","command":47,"fields":{"transfer function":1}}`,
		`{"do":"send","device":"PT-1","command":59,"fields":{"response preambles":9}}`,
		`{"do":"send","device":"PT-1","command":103,"fields":{"burst message":0,"update period":2,"maximum update period":8}}`,
		`{"do":"send","device":"PT-1","command":103,"fields":{"burst message":1,"update period":2,"maximum update period":8}}`,
		`{"do":"send","device":"PT-1","command":107,"fields":{"device variable code":[0,0,0,0,0,0,0,0],"burst message":0}}`,
		`{"do":"send","device":"PT-1","command":108,"fields":{"command number":2,"burst message":0}}`,
		`{"do":"send","device":"PT-1","command":109,"fields":{"burst control":1,"burst message":0}}`,
		`{"do":"send","device":"TT-3","command":109,"fields":{"burst control":1}}`,
		`{"do":"act","action":{"set":"PT-1.damping_s","to":3}}`,
		`{"do":"act","action":{"set":"PT-1.message","to":"NEW"}}`,
		`{"do":"act","action":{"set":"PT-1.polling","to":12}}`,
		`{"do":"act","action":{"set":"PT-1.range","to":{"lower":1,"upper":9}}}`,
		`{"do":"act","action":{"set":"PT-1.process.value","to":7.5}}`,
		`{"do":"act","action":{"set":"PT-2.controller.mode","to":"auto"}}`,
		`{"do":"act","action":{"set":"line.resistor_ohm","to":500}}`,
		`{"do":"act","action":{"mute":"PT-1"}}`,
		`{"do":"act","action":{"move":"TT-3"}}`,
		`{"do":"act","action":{"move":"PT-1","behind":"TT-3"}}`,
		`{"do":"act","action":{"fault":{"kind":"no reply","device":"PT-1"}}}`,
		`{"do":"act","action":{"fault":{"kind":"line cut","behind":"PT-1"}}}`,
		`{"do":"act","action":{"fault":{"kind":"shared address","device":"PT-1","with":"PT-2"}}}`,
	} {
		t.Run(text, func(t *testing.T) {
			r := described(t, bench)
			before := r.asked()
			r.wants(text)
			r.run(4 * sim.Second)
			if now := r.asked(); reflect.DeepEqual(now, before) != isSilent(text) {
				t.Errorf("the answers of the devices: got %v", now)
			}
			says := r.standing().Undo
			if says == "" {
				t.Fatalf("nothing to undo: %q", r.news)
			}
			shown := r.wants(`{"do":"undo","preview":true}`)
			since := len(r.said)
			r.wants(`{"do":"undo"}`)
			r.run(30 * sim.Second) // many times the damping
			if shown.Hex != "" && !strings.Contains(strings.Join(r.by("primary master", since), " "), shown.Hex) {
				t.Errorf("got %q, want %s", r.by("primary master", since), shown.Hex)
			}
			if shown.Says == "" || says != shown.Says {
				t.Errorf("got %q and %q, want one sentence", says, shown.Says)
			}
			same(t, r.asked(), before)
			if s := r.standing(); s.Undo != "" || len(s.Faults) > 0 {
				t.Errorf("left behind: %+v", s)
			}
		})
	}
}

// isSilent reports whether what a wish does cannot be seen in the answers.
func isSilent(text string) bool {
	for _, part := range []string{"controller.mode", "resistor", `{"move"`} {
		if strings.Contains(text, part) {
			return true
		}
	}
	return false
}

func same(t *testing.T, got, want map[string]string) {
	t.Helper()
	for key, w := range want {
		if got[key] != w {
			t.Errorf("%s: got %s, want %s", key, got[key], w)
		}
	}
}

// What was so already is so still when it is undone.
func TestUndoOfNoChange(t *testing.T) {
	r := described(t, bench)
	r.wants(`{"do":"act","action":{"mute":"PT-1"}}`)
	r.wants(`{"do":"act","action":{"mute":"PT-1"}}`)
	if o := r.wants(`{"do":"undo"}`); o.Says != "PT-1 is silent again" || !r.line.Seats[0].Muted() {
		t.Errorf("got %q, silent %v", o.Says, r.line.Seats[0].Muted())
	}
	if r.wants(`{"do":"undo"}`); r.line.Seats[0].Muted() {
		t.Error("it is silent still")
	}
	r.wants(`{"do":"poll","as":"secondary","command":1}`)
	r.run(2 * sim.Second)
	r.wants(`{"do":"undo"}`)
	for _, seat := range r.line.Line.Seats() {
		if seat.Name == "secondary master" {
			t.Error("there was no secondary master, and there is one")
		}
	}
}

// What a host has written counts again when what was done at the device behind it is
// undone.
func TestUndoAtTheDevice(t *testing.T) {
	r := described(t, bench)
	r.wants(`{"do":"send","device":"PT-1","command":34,"fields":{"damping":3}}`)
	r.run(3 * sim.Second)
	written := r.asked()
	r.wants(`{"do":"act","action":{"set":"PT-1.damping_s","to":2}}`)
	if set := r.asked(); set["PT-1 15"] == written["PT-1 15"] {
		t.Error("what was set at the device does not count")
	}
	r.wants(`{"do":"undo"}`)
	same(t, r.asked(), written)
}

// A process that a valve acts on is acted on again when it is back: the controller of
// the demonstration line, with its set point at 60 %, brings the flow there.
func TestUndoProcessWithValve(t *testing.T) {
	r := demonstration(t)
	flow := func() float64 {
		tr := r.line.Devices[4].Transmitter()
		tr.To(r.line.Line.Now())
		v, _ := tr.PrimaryVariable()
		return v
	}
	r.run(60 * sim.Second)
	r.wants(`{"do":"act","action":{"set":"FC-105.process.value","to":1}}`)
	if r.run(30 * sim.Second); flow() > 20 {
		t.Errorf("set: got %.1f m³/h, want 15 for 1 kPa of 16", flow())
	}
	r.wants(`{"do":"undo"}`)
	r.run(120 * sim.Second)
	if v := flow(); v < 32 || v > 40 {
		t.Errorf("undone: got %.1f m³/h, want some 36", v)
	}
}

// Whatever is done, one thing after the other undone is the start.
func TestUndoAll(t *testing.T) {
	for seed := range uint64(12) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			chance := rand.New(rand.NewPCG(seed, 9))
			r := described(t, bench)
			before := r.asked()
			done := 0
			for range 16 {
				if r.Do(wish(t, anyWish(chance))).OK {
					done++
				}
				r.run(5 * sim.Second)
			}
			if done < 10 {
				t.Errorf("got %d of 16 wishes done, want 10 or more", done)
			}
			r.run(10 * sim.Second)
			for n := 0; r.standing().Undo != ""; n++ {
				if o := r.Do(wish(t, `{"do":"undo"}`)); !o.OK || n > 40 {
					t.Fatalf("undo %d: %+v", n, o)
				}
				r.run(6 * sim.Second)
			}
			r.run(30 * sim.Second) // many times the damping
			if s := r.standing(); len(s.Faults) > 0 || len(s.Polls) > 0 {
				t.Errorf("left behind: %+v", s)
			}
			same(t, r.asked(), before)
		})
	}
}

// anyWish is something that can be undone.
func anyWish(chance *rand.Rand) string {
	tag := []string{"PT-1", "PT-2", "TT-3"}[chance.IntN(3)]
	switch chance.IntN(9) {
	case 0:
		return fmt.Sprintf(`{"do":"send","device":%q,"command":34,"fields":{"damping":%d}}`, tag, chance.IntN(9))
	case 1:
		return fmt.Sprintf(`{"do":"send","device":%q,"command":17,"fields":{"message":"NUMBER %d"}}`, tag, chance.IntN(99))
	case 2:
		return fmt.Sprintf(`{"do":"act","action":{"set":"%s.damping_s","to":%d}}`, tag, chance.IntN(9))
	case 3:
		return fmt.Sprintf(`{"do":"act","action":{"set":"%s.message","to":"KEYPAD %d"}}`, tag, chance.IntN(99))
	case 4:
		return fmt.Sprintf(`{"do":"act","action":{"set":"%s.process.value","to":%d}}`, tag, 1+chance.IntN(9))
	case 5:
		return fmt.Sprintf(`{"do":"poll","device":%q,"command":1,"every":%d}`, tag, 2+chance.IntN(4))
	case 6:
		return `{"do":"poll","command":3,"as":"secondary"}`
	case 7:
		return fmt.Sprintf(`{"do":"act","action":{"set":"%s.polling","to":%d}}`, tag, 10+chance.IntN(6))
	}
	return `{"do":"quiet","as":"secondary"}`
}
