package master_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/master"
)

// A bench is a line with devices on it that a poll works on.
type bench struct {
	t *testing.T
	*watched
	seats []*sim.Seat // of the devices
	poll  *master.Poll
	host  *sim.Seat
	told  []string // each reading, as a line of text
}

// poll has a poll work on a line of devices.
func poll(t *testing.T, p *master.Poll, configs ...device.Config) *bench {
	t.Helper()
	b := &bench{t: t, watched: watch(sim.NewLine(1)), poll: p}
	for _, c := range configs {
		b.add(c)
	}
	p.Tell = b.tell
	m := master.New(master.Config{Primary: true}, p.Run)
	t.Cleanup(m.Close)
	b.host = b.Join(m)
	return b
}

func (b *bench) add(c device.Config) {
	d, err := device.New(c)
	if err != nil {
		b.t.Fatal(err)
	}
	b.seats = append(b.seats, b.Join(d))
}

var outcomes = [...]string{master.Silent: "silent", master.Answered: "answered", master.Unreadable: "unreadable"}

func (b *bench) tell(r *master.Reading) {
	text := fmt.Sprintf("%s %d %s", r.Name, r.Command, outcomes[r.Outcome])
	if code, ok := r.Reply.Status.Response.Code(); ok && code != 0 && r.Outcome == master.Answered {
		text += fmt.Sprintf(" code %d", code)
	}
	if r.Try > 1 {
		text += fmt.Sprintf(" try %d", r.Try)
	}
	b.told = append(b.told, text)
}

// expect wants the readings told since the last call.
func (b *bench) expect(want ...string) {
	b.t.Helper()
	if !slices.Equal(b.told, want) {
		b.t.Errorf("told\n  %s\nwant\n  %s", strings.Join(b.told, "\n  "), strings.Join(want, "\n  "))
	}
	b.told = nil
}

// until runs the line until so many readings were told.
func (b *bench) until(readings int) {
	b.t.Helper()
	for len(b.told) < readings {
		if b.Next() == sim.Never {
			b.t.Fatalf("at rest after %d readings, want %d", len(b.told), readings)
		}
		b.Run(b.Next())
	}
}

// tally is the one of a name and a command.
func (b *bench) tally(name string, command int) master.Tally {
	b.t.Helper()
	for _, t := range b.poll.Tallies() {
		if t.Name == name && t.Command == command {
			return t
		}
	}
	b.t.Fatalf("no tally of %q, command %d", name, command)
	return master.Tally{}
}

func at(polling uint8) master.Target { return master.Target{Address: frame.Polling(polling)} }

// Every way to name a device: it is asked who it is with 20 preambles, and then by its
// unique address with as many as it wants.
//
// Source: encyclopaedia-style HART article (20, lowered afterwards); Texas
// Instruments application note SLAAEH0, 1.5.3 (5 to 20).
func TestPollIdentifiesFirst(t *testing.T) {
	c := config(7, 3)
	c.Preambles = 12
	for _, tt := range []struct {
		target  master.Target
		name    string
		command int
		request int // characters of the request that asks who it is
	}{
		{at(3), "3", 0, 20 + 5},
		{master.Target{Address: c.Unique()}, c.Unique().String(), 0, 20 + 9},
		{master.Target{Tag: "PT-3"}, "PT-3", 11, 20 + 9 + 6},
		{master.Target{Tag: "Pressure 3"}, "Pressure 3", 21, 20 + 9 + 32},
	} {
		if tt.command == 21 {
			tt.target.Tag, tt.name = "Größe", "Größe"
			c.LongTag = "Größe"
		}
		b := poll(t, &master.Poll{Queries: []master.Query{{Device: tt.target, Command: 1}, {Device: tt.target, Command: 2}}, Rounds: 2}, c)
		var requests []int
		b.Log(func(s *sim.Seat, burst *sim.Burst) {
			if s == b.host {
				requests = append(requests, len(burst.Chars))
			}
		})
		b.until(5)
		b.expect(fmt.Sprintf("%s %d answered", tt.name, tt.command), tt.name+" 1 answered", tt.name+" 2 answered",
			tt.name+" 1 answered", tt.name+" 2 answered")
		if want := []int{tt.request, 12 + 9, 12 + 9, 12 + 9, 12 + 9}; !slices.Equal(requests, want) {
			t.Errorf("%s: requests of %v characters, want %v", tt.name, requests, want)
		}
		if b.Next() < b.Now()+sim.Second && b.Next() != sim.Never {
			b.Run(b.Now() + 10*sim.Second)
		}
		b.expect()
	}
}

// A device that is not there is looked for when its turn comes, once, and the others go
// on; when it comes it is polled.
func TestPollLooksForWhoIsMissing(t *testing.T) {
	b := poll(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1}, {Device: at(4), Command: 1}, {Device: at(4), Command: 2}}, Retries: 2},
		config(7, 3), config(7, 4))
	b.seats[1].Mute(true)
	b.until(11)
	b.expect("3 0 answered", "3 1 answered", "4 0 silent", "4 0 silent try 2", "4 0 silent try 3", "4 0 silent",
		"3 1 answered", "4 0 silent", "4 0 silent", "3 1 answered", "4 0 silent")
	b.seats[1].Mute(false)
	b.until(6)
	b.expect("4 0 answered", "4 2 answered", "3 1 answered", "4 1 answered", "4 2 answered", "3 1 answered")
}

// A device that is silent in a whole round is asked anew who it is: another one has
// taken its place.
func TestPollNoticesAReplacedDevice(t *testing.T) {
	b := poll(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1}}, Retries: 1}, config(7, 3))
	b.until(2)
	b.seats[0].Mute(true)
	other := config(7, 3)
	other.DeviceID = 4711
	b.add(other)
	b.until(6)
	b.expect("3 0 answered", "3 1 answered", "3 1 silent", "3 1 silent try 2", "3 0 answered", "3 1 answered")
}

// A slave answers by a function: with the characters of a message, or with silence.
type slave struct {
	answer func(n int, f *frame.Frame) []byte
	asked  int
}

func (s *slave) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for i := range heard {
		h := &heard[i]
		if h.Carrier != 0 || h.Event.Outcome != frame.Whole || h.Event.Frame.Kind != frame.STX {
			continue
		}
		s.asked++
		if chars := s.answer(s.asked, &h.Event.Frame); chars != nil {
			return &sim.Burst{At: h.End + 2*sim.Character, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars}, sim.Never
		}
	}
	return nil, sim.Never
}

// garbage is a reply with a wrong check byte.
func garbage() []byte { return append(frame.AppendPreambles(nil, 5), 0x06, 0x83, 0x01, 0x02, 0, 0, 0) }

// ack is a reply of command 0 of a device of revision 7 with a unique address, or the
// code of another command without data.
func ack(f *frame.Frame, response frame.Response) []byte {
	r := frame.Frame{Kind: frame.ACK, Address: f.Address, Primary: f.Primary, Command: f.Command, Status: frame.Status{Response: response}}
	if f.Command == 0 && response == 0 {
		r.Data = []byte{254, 0xf9, 1, 5, 7, 1, 1, 8, 0, 0, 0, 7, 5, 4, 0, 0, 0, 0, 0xf9, 0, 0xf9, 1}
	}
	chars, _ := r.AppendBinary(frame.AppendPreambles(nil, 5))
	return chars
}

// pollSlave polls one slave at polling address 3.
func pollSlave(t *testing.T, p *master.Poll, answer func(n int, f *frame.Frame) []byte) *bench {
	b := poll(t, p)
	b.Join(&slave{answer: answer})
	return b
}

// Only what was damaged or silent is asked again, and no more often than that. What is
// busy has its turn again in the next round; what is refused was answered.
//
// Source: Allen-Bradley 1797-6.5.3 (2006) p.C-2 (a master repeats where there is no
// answer); FieldComm Group support article 8000090586 (32, 33, 34).
func TestPollRetries(t *testing.T) {
	for _, tt := range []struct {
		name string
		then []func(f *frame.Frame) []byte // what command 1 is answered, one after the other
		told []string
		want master.Tally
	}{
		{"garbage, silence, answer",
			[]func(*frame.Frame) []byte{
				func(*frame.Frame) []byte { return garbage() }, func(*frame.Frame) []byte { return nil },
				func(f *frame.Frame) []byte { return ack(f, 0) }},
			[]string{"3 1 unreadable", "3 1 silent try 2", "3 1 answered try 3"},
			master.Tally{Asked: 3, Answered: 1, Damaged: 1, Silent: 1, Retries: 2}},
		{"garbage all the time",
			[]func(*frame.Frame) []byte{func(*frame.Frame) []byte { return garbage() }, func(*frame.Frame) []byte { return garbage() },
				func(*frame.Frame) []byte { return garbage() }, func(*frame.Frame) []byte { return garbage() }},
			[]string{"3 1 unreadable", "3 1 unreadable try 2", "3 1 unreadable try 3", "3 1 unreadable try 4"},
			master.Tally{Asked: 4, Damaged: 4, Retries: 3}},
		{"busy", []func(*frame.Frame) []byte{func(f *frame.Frame) []byte { return ack(f, 32) }},
			[]string{"3 1 answered code 32"}, master.Tally{Asked: 1, Busy: 1}},
		{"delayed response initiated", []func(*frame.Frame) []byte{func(f *frame.Frame) []byte { return ack(f, 33) }},
			[]string{"3 1 answered code 33"}, master.Tally{Asked: 1, Busy: 1}},
		{"delayed response running", []func(*frame.Frame) []byte{func(f *frame.Frame) []byte { return ack(f, 34) }},
			[]string{"3 1 answered code 34"}, master.Tally{Asked: 1, Busy: 1}},
		{"not implemented", []func(*frame.Frame) []byte{func(f *frame.Frame) []byte { return ack(f, 64) }},
			[]string{"3 1 answered code 64"}, master.Tally{Asked: 1, Answered: 1}},
		{"heard with a parity error", []func(*frame.Frame) []byte{
			func(f *frame.Frame) []byte { return ack(f, 0xc0) }, func(f *frame.Frame) []byte { return ack(f, 0) }},
			[]string{"3 1 answered", "3 1 answered try 2"}, master.Tally{Asked: 2, Answered: 1, Damaged: 1, Retries: 1}},
	} {
		b := pollSlave(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1}}, Retries: 3, Rounds: 1}, func(n int, f *frame.Frame) []byte {
			if f.Command == 0 {
				return ack(f, 0)
			}
			answer := tt.then[n-2]
			return answer(f)
		})
		b.until(1 + len(tt.told))
		b.Run(b.Now() + 10*sim.Second)
		b.expect(append([]string{"3 0 answered"}, tt.told...)...)
		got := b.tally("3", 1)
		got.Name, got.Command, got.Occupied, got.Last = "", 0, 0, 0
		if n := got.Response.Count; n != tt.want.Answered+tt.want.Busy {
			t.Errorf("%s: %d response times, want those of the answers", tt.name, n)
		}
		if median := got.Response.Median; tt.want.Answered+tt.want.Busy > 0 && median.Milliseconds() != 23 { // 2 characters and 5 bits
			t.Errorf("%s: median %v, want 23 ms", tt.name, median)
		}
		got.Response = tt.want.Response
		if got != tt.want {
			t.Errorf("%s: got %+v, want %+v", tt.name, got, tt.want)
		}
	}
}

// A device of which something was heard is there, even if it is silent then.
func TestPollKeepsWhoIsHeard(t *testing.T) {
	b := pollSlave(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1}}, Retries: 1, Rounds: 2}, func(n int, f *frame.Frame) []byte {
		switch n {
		case 2:
			return garbage()
		case 3:
			return nil
		}
		return ack(f, 0)
	})
	b.until(4)
	b.expect("3 0 answered", "3 1 unreadable", "3 1 silent try 2", "3 1 answered")
}

// A device that was named by its unique address is asked by that, whatever it tells of
// itself.
func TestPollKeepsAUniqueAddress(t *testing.T) {
	unique := frame.Unique(0x1234, 0x56)
	var asked []frame.Address
	b := pollSlave(t, &master.Poll{Queries: []master.Query{{Device: master.Target{Address: unique}, Command: 1}}, Rounds: 1}, func(_ int, f *frame.Frame) []byte {
		asked = append(asked, f.Address)
		return ack(f, 0)
	})
	b.until(2)
	if want := []frame.Address{unique, unique}; !slices.Equal(asked, want) {
		t.Errorf("asked %v, want %v", asked, want)
	}
}

// A device that wants fewer or more preambles than there may be gets the least or the
// most, from a scan too.
//
// Source: Texas Instruments application note SLAAEH0, section 1.5.3 (5 to 20).
func TestPreamblesThatADeviceWants(t *testing.T) {
	for wants, want := range map[byte]int{0: 5, 4: 5, 5: 5, 12: 12, 20: 20, 21: 20, 255: 20} {
		var got []int
		for _, script := range []master.Script{
			(&master.Poll{Queries: []master.Query{{Device: at(3), Command: 1}}, Rounds: 1}).Run,
			(&master.Scan{From: 3, To: 3, Found: func(master.Found) {}}).Run,
		} {
			line := sim.NewLine(1)
			line.Join(&slave{answer: func(_ int, f *frame.Frame) []byte {
				chars := ack(f, 0)
				if f.Command == 0 {
					at := len(chars) - 20 // of 22 data and the check byte
					chars[len(chars)-1] ^= chars[at] ^ wants
					chars[at] = wants
				}
				return chars
			}})
			m := master.New(master.Config{Primary: true}, script)
			host := line.Join(m)
			line.Log(func(s *sim.Seat, b *sim.Burst) {
				if s == host {
					got = append(got, len(b.Chars)-9)
				}
			})
			line.Run(20 * sim.Second)
			m.Close()
			if len(got) < 2 || got[1] != want {
				t.Errorf("%d wanted: then got requests behind %v preambles, want %d", wants, got[min(1, len(got)):], want)
			}
			got = nil
		}
	}
}

// A write that takes its time is busy in each round until it has been carried out.
//
// Source: FieldComm Group support article 8000090586 (33, 34).
func TestPollOfADelayedResponse(t *testing.T) {
	c := config(7, 3)
	c.WriteTime = 1500 * sim.Millisecond
	damping := master.Query{Device: at(3), Command: 34, Data: []byte{0x40, 0x80, 0, 0}, Every: sim.Second}
	b := poll(t, &master.Poll{Queries: []master.Query{damping}, Rounds: 3}, c)
	b.until(4)
	b.expect("3 0 answered", "3 34 answered code 33", "3 34 answered code 34", "3 34 answered")
	got := b.tally("3", 34)
	if got.Asked != 3 || got.Busy != 2 || got.Answered != 1 || got.Retries != 0 {
		t.Errorf("got %+v, want 2 busy and 1 answered", got)
	}
}

// asks are the moments at which a command was asked first.
func asks(b *bench, command uint16) (at []sim.Tick) {
	b.poll.Tell = func(r *master.Reading) {
		if r.Command == command && r.Try == 1 {
			at = append(at, r.Began)
		}
	}
	b.Run(b.Now() + 60*sim.Second)
	return at
}

// A query is due at multiples of its period from the first time on.
func TestPollKeepsPeriods(t *testing.T) {
	b := poll(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1, Every: 2 * sim.Second}}}, config(7, 3))
	times := asks(b, 1)
	if len(times) < 29 {
		t.Fatalf("asked %d times in a minute, want every 2 s", len(times))
	}
	for i, at := range times {
		if at != times[0]+sim.Tick(i)*2*sim.Second {
			t.Errorf("asked at %v, want multiples of 2 s behind %v", at.Duration(), times[0].Duration())
		}
	}
}

// What is asked beside it moves a query to the next turn, and no further: it goes
// before those without a period.
func TestPollPeriodBesideOthers(t *testing.T) {
	b := poll(t, &master.Poll{Queries: []master.Query{{Device: at(3), Command: 2}, {Device: at(3), Command: 3},
		{Device: at(3), Command: 1, Every: 2 * sim.Second}}}, config(7, 3))
	times := asks(b, 1)
	const longest = 700 * sim.Millisecond // a transaction of command 3
	for i, at := range times {
		if late := at - times[0] - sim.Tick(i)*2*sim.Second; late < 0 || late > longest {
			t.Errorf("time %d is %v late, want no more than a transaction", i, late.Duration())
		}
	}
	b.told = nil
	one, two := b.tally("3", 2), b.tally("3", 3)
	if d := one.Asked - two.Asked; d < -1 || d > 1 || one.Asked < 20 {
		t.Errorf("the others were asked %d and %d times, want equally often", one.Asked, two.Asked)
	}
}

// Periods that the line cannot keep: a due time that has passed is not made up for, the
// queries take turns, and those without a period are not forgotten.
func TestPollOverload(t *testing.T) {
	var queries []master.Query
	for _, n := range []uint16{1, 2, 3} {
		queries = append(queries, master.Query{Device: at(3), Command: n, Every: sim.Second / 10})
	}
	queries = append(queries, master.Query{Device: at(3), Command: 12}, master.Query{Device: at(3), Command: 13})
	b := poll(t, &master.Poll{Queries: queries}, config(7, 3))
	b.until(1 + 400)
	for command, want := range map[int]int64{1: 100, 2: 100, 3: 100, 12: 50, 13: 50} {
		if got := b.tally("3", command).Asked; got < want-1 || got > want+1 {
			t.Errorf("command %d was asked %d times of 400, want %d", command, got, want)
		}
	}
}

// A poll goes on with another master on another line, and counts on.
func TestPollGoesOnElsewhere(t *testing.T) {
	p := &master.Poll{Queries: []master.Query{{Device: at(3), Command: 1, Every: 2 * sim.Second}}}
	b := poll(t, p, config(7, 3))
	b.Run(21 * sim.Second) // the eleventh request has begun
	first := b.tally("3", 1)
	if first.Answered != 10 || first.Asked != 11 {
		t.Fatalf("got %+v, want 10 answers and one under way", first)
	}
	b = poll(t, p, config(7, 3))
	if begun := b.tally("3", 1); begun != first {
		t.Errorf("before it goes on: got %+v, want %+v", begun, first)
	}
	b.Run(20*sim.Second + 400*sim.Millisecond) // it need not be asked who it is, and begins sooner
	if got := b.tally("3", 1); got.Answered != 20 || got.Asked != 21 || b.tally("3", 0).Asked != 1 {
		t.Errorf("got %+v, want 20 answers and one under way, without asking who it is", got)
	}
}
