package device_test

import (
	"slices"
	"testing"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
)

// Times of the data link, in characters, and what a carrier takes around them.
//
// Source: FieldComm Group support article 8000040648 (link grant, link quiet);
// Allen-Bradley 1797-6.5.3 (2006) p.C-2 (carrier); 33 characters without a reply
// from memory.
const (
	character   = 55000
	afterOwn    = 8 * character
	afterNobody = 33 * character
	afterReply  = 3*5000 + 5*5000 // the reply's carrier goes off, the message's comes up
)

// listen is what is heard on the line for a time, from now on.
func (b *bench) listen(span sim.Tick) []sim.Heard {
	b.Helper()
	p := &probe{}
	seat := b.line.Join(p)
	b.line.Run(b.line.Now() + span)
	b.line.Leave(seat)
	return p.heard
}

// gaps are the silences between what is heard, in ticks.
func gaps(heard []sim.Heard) (list []sim.Tick) {
	for i := 1; i < len(heard); i++ {
		list = append(list, heard[i].Begin-heard[i-1].End)
	}
	return list
}

// A bursting device that is switched on restores the timing, then publishes with a
// link grant in between, to one master and the other.
//
// Source: Flowserve LMENIM2340-00 p.34 (link grant); Allen-Bradley 1770-HT8 p.4-10
// (the master bit alternates).
func TestPublishing(t *testing.T) {
	b := newBench(t, publishing(5, device.Publication{Command: 1}))
	heard := b.listen(10 * sim.Second)
	if len(heard) == 0 || heard[0].Begin != afterNobody {
		t.Fatalf("heard %+v, want the first message after 33 characters", heard)
	}
	for i, h := range heard {
		f := h.Event.Frame
		if h.Event.Outcome != frame.Whole || f.Kind != frame.BACK || !f.Burst || f.Primary != (i%2 == 0) || h.Event.Preambles != 7 {
			t.Errorf("message %d: %+v, want a BACK with the burst bit, to the masters in turn", i, h.Event)
		}
	}
	for _, gap := range gaps(heard) {
		if gap != afterOwn {
			t.Errorf("a gap of %d ticks, want %d", gap, afterOwn)
		}
	}
	// 7 preambles, 14 characters of a BACK of command 1 with 5 data bytes and 2 of
	// status; 33 characters of silence at first, 8 in between.
	if want := 1 + (1091-33-23)/31; len(heard) != want { // 10 s are 1090.9 characters
		t.Errorf("%d messages in 10 s, want %d", len(heard), want)
	}
	b.turns(5, []turn{{1, "", 0, "0c 41c80000"}})
}

// Behind every reply, its own and another device's, the bursting device publishes at
// once; where nobody answers, and behind what nobody can read, after 33 characters.
//
// Source: FieldComm Group support article 8000045189 (behind every ACK; the device
// restores the timing); 33 characters from memory.
func TestMessageFollowsEveryReply(t *testing.T) {
	other := config(7)
	other.DeviceID, other.Polling, other.Tag = 9, 5, "FT-2"
	b := newBench(t, publishing(7, device.Publication{Command: 1}), other)
	to := func(a frame.Address) frame.Frame {
		return frame.Frame{Kind: frame.STX, Address: a, Primary: true, Command: 1}
	}
	unreadable := b.message(to(b.devices[1].Config().Unique()))
	unreadable[7] ^= 0x10 // in the address: nobody answers
	for _, tt := range []struct {
		what  string
		chars []byte
		reply bool
		want  sim.Tick
	}{
		{"its own reply", b.message(to(b.devices[0].Config().Unique())), true, afterReply},
		{"another's reply", b.message(to(b.devices[1].Config().Unique())), true, afterReply},
		{"a request that nobody answers", b.message(to(frame.Unique(1, 2))), false, afterNobody},
		{"a command of a short frame that nobody answers", b.message(to(frame.Polling(0))), false, afterNobody},
		{"what nobody can read", unreadable, false, afterNobody},
		{"characters that are no frame", []byte{1, 2, 3}, false, afterNobody},
		{"a request that breaks off", b.message(to(frame.Unique(1, 2)))[:9], false, afterNobody},
	} {
		b.line.Run(b.line.Now() + sim.Second)
		heard, end := b.send(tt.chars)
		heard = slices.DeleteFunc(heard, func(h sim.Heard) bool { return h.Begin < end })
		if tt.reply {
			if len(heard) == 0 || heard[0].Event.Frame.Kind != frame.ACK || heard[0].Begin-end != 40*sim.Millisecond {
				t.Fatalf("%s: heard %+v, want a reply after 40 ms", tt.what, heard)
			}
			end, heard = heard[0].End, heard[1:]
		}
		if len(heard) == 0 || !isBACK(heard[0]) || heard[0].Begin-end != tt.want {
			t.Errorf("%s: then heard %+v behind %v, want a message %v later", tt.what, heard, end, tt.want)
			continue
		}
		for _, gap := range gaps(heard) {
			if gap != afterOwn {
				t.Errorf("%s: then a gap of %d ticks, want %d", tt.what, gap, afterOwn)
			}
		}
	}
}

// The master bit goes on alternating, whatever is asked in between; a message with
// its number goes to both masters, one behind the other.
//
// Source: FieldComm Group support folder 8000075119 p.3 (each BACK is to the other
// master, the same message to both).
func TestEachMessageGoesToBothMasters(t *testing.T) {
	b := newBench(t, publishing(7, device.Publication{Command: 1}, device.Publication{Command: 2, Every: sim.Second},
		device.Publication{Command: 3, Every: 2 * sim.Second}))
	p := &probe{}
	b.line.Join(p)
	for i := range 12 {
		f := b.request(1)
		f.Primary = i%3 != 0
		b.ask(f)
		b.line.Run(b.line.Now() + sim.Second/2)
	}
	var all []frame.Frame
	for _, h := range p.heard {
		if isBACK(h) {
			all = append(all, h.Event.Frame)
		}
	}
	for i := 1; i < len(all); i++ {
		if all[i].Primary == all[i-1].Primary {
			t.Fatalf("message %d goes to the same master as the one before", i)
		}
		if i%2 == 1 && all[i].Command != all[i-1].Command {
			t.Fatalf("message %d is command %d, want %d as the one before, to the other master", i, all[i].Command, all[i-1].Command)
		}
	}
	if len(all) < 30 {
		t.Errorf("%d messages in 30 s", len(all))
	}
}

// times are when each command was published, to the primary master.
func times(heard []sim.Heard) map[uint16][]sim.Tick {
	at := map[uint16][]sim.Tick{}
	for _, h := range heard {
		if f := &h.Event.Frame; isBACK(h) && f.Primary {
			at[f.Number()] = append(at[f.Number()], h.Begin)
		}
	}
	return at
}

// The message with the shortest period fills all gaps; the others go out when their
// period is over, late by no more than the pair that goes out just then.
//
// Source: Flowserve LMENIM2340-00 p.34.
func TestPeriods(t *testing.T) {
	b := newBench(t, publishing(7, device.Publication{Command: 2, Every: 8 * sim.Second},
		device.Publication{Command: 1, Every: 2 * sim.Second}, device.Publication{Command: 3, Every: 32 * sim.Second}))
	at := times(b.listen(10 * 60 * sim.Second))
	const pair = 2 * (40 + 8) * character // of the longest
	for command, period := range map[uint16]sim.Tick{2: 8 * sim.Second, 3: 32 * sim.Second} {
		for i, began := range at[command][1:] {
			if late := began - at[command][i] - period; late < 0 || late > pair {
				t.Errorf("command %d comes %v after the one before, want %v", command, (began - at[command][i]).Duration(), period.Duration())
			}
		}
		if got, want := len(at[command]), int(600*sim.Second/period); got < want*8/10 || got > want+1 {
			t.Errorf("command %d: %d messages in 600 s, want about %d", command, got, want)
		}
	}
	if got := len(at[1]); got < 900 { // nearly 600 s of 0.57 s each
		t.Errorf("command 1 fills the gaps with %d messages, want more than 900", got)
	}
}

// None of several messages whose periods cannot all be kept is forgotten.
func TestMoreMessagesThanFit(t *testing.T) {
	b := newBench(t, publishing(7, device.Publication{Command: 3}, device.Publication{Command: 1},
		device.Publication{Command: 2}, device.Publication{Command: 9}, device.Publication{Command: 48}))
	at := times(b.listen(60 * sim.Second))
	for _, command := range []uint16{1, 2, 3, 9, 48} {
		if n := len(at[command]); n < len(at[1])-1 || n > len(at[1])+1 || n < 10 {
			t.Errorf("command %d goes out %d times, and command 1 %d times, want them to take turns", command, n, len(at[1]))
		}
	}
}

// What is published is what it is when it is sent.
func TestLatestData(t *testing.T) {
	c := publishing(7, device.Publication{Command: 1})
	c.Transmitter.Process.Model = process.Ramp{To: 100, Length: (100 * sim.Second).Duration()}
	c.Transmitter.DampingS = 0
	b := newBench(t, c)
	for _, h := range b.listen(100 * sim.Second) {
		carrierOn := h.Begin - 25000
		grid := carrierOn - carrierOn%(sim.Second/10)
		if got, want := number(h.Event.Frame.Data[1:5]), grid.Seconds(); got < want-1e-4 || got > want+1e-4 {
			t.Errorf("published %v at %v, want %v", got, carrierOn.Duration(), want)
		}
	}
}

// The device looks before it talks, and a reply goes first.
func TestReplyGoesBeforeAMessage(t *testing.T) {
	c := publishing(7, device.Publication{Command: 1})
	c.Latency = sim.SlaveTimeOut // nearly as long as it waits where nobody answers
	c.Trouble = trouble(device.Trouble{Delay: 40 * character})
	b := newBench(t, c)
	heard, end := b.send(b.message(b.request(2)))
	heard = slices.DeleteFunc(heard, func(h sim.Heard) bool { return h.Begin < end })
	if len(heard) < 2 || heard[0].Event.Frame.Kind != frame.ACK || heard[0].Begin-end != 68*character {
		t.Fatalf("heard %+v, want the late reply first", heard)
	}
	if gap := heard[1].Begin - heard[0].End; !isBACK(heard[1]) || gap != afterReply {
		t.Errorf("behind the reply: %+v after %d ticks", heard[1].Event, gap)
	}
	heard, end = b.send(frame.AppendPreambles(nil, 200)) // somebody holds the line
	for _, h := range heard {
		if h.Begin < end && h.End > end-200*character+character {
			t.Errorf("published while a carrier was on: %+v", h)
		}
	}
}

// Two devices that publish do not take the masters' turns: behind each message
// there is the link grant that a master may use.
func TestTwoPublishingDevices(t *testing.T) {
	other := publishing(7, device.Publication{Command: 2})
	other.DeviceID, other.Polling, other.Tag = 9, 5, "FT-2"
	b := newBench(t, publishing(7, device.Publication{Command: 1}), other)
	heard := b.listen(60 * sim.Second)
	if len(heard) < 100 {
		t.Fatalf("heard %d messages in 60 s, want the line to go on", len(heard))
	}
	for i, gap := range gaps(heard) {
		if !isBACK(heard[i]) || gap < afterOwn {
			t.Fatalf("%+v, and a gap of %d ticks, want whole messages and a link grant", heard[i].Event, gap)
		}
	}
	for range 20 {
		b.ask(b.request(1))
		f := b.request(2)
		f.Address = other.Unique()
		b.ask(f)
	}
	b.ask(b.request(109, 0, 0))
	heard = b.listen(10 * sim.Second)
	if len(heard) < 10 || heard[len(heard)-1].Event.Frame.Address != other.Unique() {
		t.Errorf("heard %+v, want the other device to publish when the first one is off", heard)
	}
}

// A burst message tells a master's flags and leaves them as they are.
//
// Source: Allen-Bradley 1794-UM063A p.C-6 (cleared by the first command that
// reports it); that a message is no command, from memory.
func TestMessagesLeaveTheFlags(t *testing.T) {
	b := newBench(t, publishing(7, device.Publication{Command: 1}))
	for _, h := range b.listen(2 * sim.Second) {
		if h.Event.Frame.Status.Device&frame.ColdStart == 0 {
			t.Errorf("got status %v, want cold start", h.Event.Frame.Status.Device.Names())
		}
	}
	b.ask(b.request(1)) // of the primary master
	for _, h := range b.listen(2 * sim.Second) {
		if got := h.Event.Frame.Status.Device&frame.ColdStart != 0; got == h.Event.Frame.Primary {
			t.Errorf("to the primary master %v: cold start %v", h.Event.Frame.Primary, got)
		}
	}
	if reply := b.ask(b.request(95)); reply.Data[5] < 8 {
		t.Errorf("got %x, want the messages counted", reply.Data)
	}
}

// Burst mode that a delayed write switches on begins without a reply.
func TestDelayedBurstMode(t *testing.T) {
	c := config(7)
	c.WriteTime = 3 * sim.Second
	b := newBench(t, c)
	b.turns(7, []turn{{109, "01 00", 33, ""}})
	if heard := b.listen(5 * sim.Second); len(heard) < 10 || !isBACK(heard[0]) {
		t.Errorf("heard %+v, want messages from the moment on when it was carried out", heard)
	}
	b.turns(7, []turn{{109, "01 00", 0, "="}})
}

// A device that starts anew gets to know the line before it publishes.
func TestBurstModeAfterAReset(t *testing.T) {
	b := newBench(t, publishing(7, device.Publication{Command: 1}))
	b.line.Run(sim.Second)
	heard, end := b.send(b.message(b.request(42)))
	heard = slices.DeleteFunc(heard, func(h sim.Heard) bool { return h.Begin < end })
	if len(heard) < 2 {
		t.Fatalf("heard %+v, want a reply and messages", heard)
	}
	if gap := heard[1].Begin - heard[0].End; gap != 3*5000+sim.Second+afterNobody {
		t.Errorf("the first message comes %v behind the reply, want a second and 33 characters", gap.Duration())
	}
}

// listener is a device in burst mode that has got to know a silent line, and the moment
// at which it would publish.
func listener(t *testing.T) (d *device.Device, due sim.Tick) {
	t.Helper()
	d, err := device.New(publishing(7, device.Publication{Command: 1}))
	if err != nil {
		t.Fatal(err)
	}
	b, due := d.Step(0, nil)
	if b != nil || due != afterNobody-sim.CarrierLead {
		t.Fatalf("got %+v and %v, want it to listen first", b, due)
	}
	return d, due
}

// A carrier that nothing was understood of is like something unreadable.
func TestCarrierWithoutCharacters(t *testing.T) {
	d, due := listener(t)
	if b, wake := d.Step(due-1, []sim.Heard{{At: due - 1, Carrier: +1}}); b != nil || wake != sim.Never {
		t.Errorf("got %+v and %v, want it to wait for the end of the carrier", b, wake)
	}
	off := due + 7*sim.Second
	if b, wake := d.Step(off, []sim.Heard{{At: off, Carrier: -1}}); b != nil || wake != off+afterNobody-sim.CarrierLead {
		t.Errorf("got %+v and %v, want it to wait for 33 characters", b, wake)
	}
	if b, _ := d.Step(off+afterNobody-sim.CarrierLead, nil); b == nil {
		t.Error("then it does not publish")
	}
}

// What disturbs a device that is about to reply does not put off what follows the
// reply.
func TestNoiseBeforeTheReply(t *testing.T) {
	d, _ := listener(t)
	end := sim.Tick(100 * character)
	request := frame.Event{Outcome: frame.Whole, Frame: frame.Frame{Kind: frame.STX, Address: d.Config().Unique(), Primary: true, Command: 1}}
	reply, wake := d.Step(end, []sim.Heard{{At: end, Begin: end - 14*character, End: end, Event: request}})
	if reply == nil || wake != reply.Off() {
		t.Fatalf("got %+v and %v, want a reply, then a message", reply, wake)
	}
	at := end + character
	d.Step(at, []sim.Heard{{At: at, Carrier: +1}})
	d.Step(at+character, []sim.Heard{{At: at + character, Begin: at, End: at + character, Event: frame.Event{Outcome: frame.Noise}},
		{At: at + character, Carrier: -1}})
	d.Step(at+2*character, []sim.Heard{{At: at + 2*character, Carrier: +1}})
	d.Step(at+3*character, []sim.Heard{{At: at + 3*character, Carrier: -1}})
	if b, _ := d.Step(wake, nil); b == nil || b.At != wake {
		t.Errorf("got %+v, want a message at once behind the reply", b)
	}
}

// A request from outside is heard when it arrives: nothing is sent before that.
func TestReplyToALateRequest(t *testing.T) {
	d, err := device.New(config(7))
	if err != nil {
		t.Fatal(err)
	}
	request := frame.Event{Outcome: frame.Whole, Frame: frame.Frame{Kind: frame.STX, Address: d.Config().Unique(), Command: 1}}
	const end, now = sim.Second, 2 * sim.Second
	if reply, _ := d.Step(now, []sim.Heard{{At: now, Begin: end - character, End: end, Event: request}}); reply == nil || reply.At != now {
		t.Errorf("got %+v, want a reply that begins at %v", reply, now.Duration())
	}
}

// Where a reply is given up, nobody has answered.
func TestMessageBehindAReplyThatIsGivenUp(t *testing.T) {
	s := &shelf{takes: sim.Second}
	b := keeping(t, s, publishing(7, device.Publication{Command: 1}))
	b.line.Run(sim.Second)
	heard, end := b.send(b.message(b.request(34, []byte(damping4)...)))
	heard = slices.DeleteFunc(heard, func(h sim.Heard) bool { return h.Begin < end })
	if len(heard) == 0 || !isBACK(heard[0]) || heard[0].Begin-end != afterNobody {
		t.Errorf("heard %+v, want a message 33 characters behind the request", heard)
	}
}

// A stretch is a medium in which every carrier stays on for longer.
type stretch sim.Tick

func (s stretch) Send(_ sim.Tick, _ *sim.Seat, b *sim.Burst) *sim.Burst {
	longer := *b
	longer.Tail += sim.Tick(s)
	return &longer
}

func (stretch) Arrive(_ sim.Tick, _ *sim.Seat, chars []byte, marks []frame.MarkAt) ([]byte, []frame.MarkAt) {
	return chars, marks
}

// A device that hears its own echo publishes as any other one. Where its carrier stays on
// for longer than it should it waits for the end, and then for 33 characters, as after
// anything that it did not understand.
func TestPublishingWithAnEcho(t *testing.T) {
	for _, echo := range []bool{false, true} {
		for longer, want := range map[sim.Tick]sim.Tick{0: afterOwn, 100 * character: (100+33)*character + sim.CarrierTail} {
			b := newBench(t, publishing(7, device.Publication{Command: 1}))
			b.line.Through(stretch(longer))
			b.line.Seats()[0].Echo(echo)
			heard := b.listen(20 * sim.Second)
			if len(heard) < 5 {
				t.Fatalf("echo %t, %d ticks longer: heard %d messages in 20 s", echo, longer, len(heard))
			}
			for _, gap := range gaps(heard) {
				if gap != want {
					t.Errorf("echo %t, %d ticks longer: a gap of %d ticks, want %d", echo, longer, gap, want)
				}
			}
		}
	}
}

// A message that is switched off before it has gone to both masters goes to the second
// one no more.
func TestMessageThatIsSwitchedOffInBetween(t *testing.T) {
	b := newBench(t, publishing(7, device.Publication{Command: 1}, device.Publication{Command: 2, Every: sim.Second}))
	var last []sim.Heard
	for len(last) == 0 || last[len(last)-1].Event.Frame.Command != 1 || !last[len(last)-1].Event.Frame.Primary {
		last = b.listen(31 * character)
	}
	heard, end := b.send(b.message(b.request(109, 0, 0)))
	for _, h := range heard {
		if isBACK(h) && h.Begin > end && h.Event.Frame.Command == 1 {
			t.Errorf("command 1 is published at %v, behind %v", h.Begin.Duration(), end.Duration())
		}
	}
}
