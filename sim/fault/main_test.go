package fault

import (
	"os"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/unit"
	"looptone/frame/vector"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// published are the frames that documents print, each behind five preambles; the
// vectors name their sources.
func published(t testing.TB) (messages [][]byte) {
	t.Helper()
	vectors, err := vector.Read(os.DirFS("../../testdata/vectors"))
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range vectors {
		expect, _ := v.Value("expect")
		if !strings.HasPrefix(v.Name, "published-") || strings.Contains(v.Name, "-bare-") || expect != "frame" {
			continue
		}
		chars := v.Chars
		for chars[0] == 0xff {
			chars = chars[1:]
		}
		messages = append(messages, append(frame.AppendPreambles(nil, 5), chars...))
	}
	if len(messages) < 8 {
		t.Fatalf("only %d published frames found", len(messages))
	}
	return messages
}

// A tape is a station that sends bursts at their moments and keeps what it hears.
type tape struct {
	bursts []*sim.Burst
	heard  []sim.Heard
}

func (s *tape) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for _, h := range heard {
		h.Event.Frame = h.Event.Frame.Clone()
		h.Event.Raw = slices.Clone(h.Event.Raw)
		s.heard = append(s.heard, h)
	}
	if len(s.bursts) == 0 {
		return nil, sim.Never
	}
	if b := s.bursts[0]; b.At <= now {
		s.bursts = s.bursts[1:]
		return b, now
	}
	return nil, s.bursts[0].At
}

// events are what was heard without the carriers.
func (s *tape) events() (evs []sim.Heard) {
	for _, h := range s.heard {
		if h.Carrier == 0 {
			evs = append(evs, h)
		}
	}
	return evs
}

// burst is chars as a station sends them.
func burst(at sim.Tick, chars []byte) *sim.Burst {
	return &sim.Burst{At: at, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: chars}
}

// A sent is a burst that was on a line.
type sent struct {
	talker string
	sim.Burst
}

// A bench is a line with devices on it, somebody who listens, and a set of faults.
type bench struct {
	testing.TB
	line    *sim.Line
	set     *Set
	devices []*device.Device
	seats   []*sim.Seat
	ear     *tape
	log     []sent
}

// newBench is a line with devices at the polling addresses from 1 on.
func newBench(t testing.TB, seed uint64, tags ...string) *bench {
	t.Helper()
	b := &bench{TB: t, line: sim.NewLine(seed), ear: &tape{}}
	var members []Member
	for i, tag := range tags {
		c := config(tag, uint8(i+1))
		c.Trouble = func(now sim.Tick, write bool) device.Trouble { return b.set.Trouble(tag)(now, write) }
		d, err := device.New(c)
		if err != nil {
			t.Fatal(err)
		}
		seat := b.line.Join(d)
		seat.Name = tag
		b.devices, b.seats = append(b.devices, d), append(b.seats, seat)
		members = append(members, Member{d, seat})
	}
	b.line.Join(b.ear)
	b.line.Log(func(talker *sim.Seat, s *sim.Burst) {
		kept := sent{talker.Name, *s}
		kept.Chars, kept.Marks = slices.Clone(s.Chars), slices.Clone(s.Marks)
		b.log = append(b.log, kept)
	})
	b.set = NewSet(seed, b.line, members)
	return b
}

func config(tag string, polling uint8) device.Config {
	const kPa unit.Code = 12
	return device.Config{
		Identity: device.Identity{Revision: 7, Maker: 249, Type: 0xf903, DeviceID: uint32(polling), DeviceRevision: 1,
			Preambles: 5, ReplyPreambles: 5},
		Tag: tag, LongTag: tag, Date: "2031-03-01", Polling: polling, Latency: 50 * sim.Millisecond,
		Transmitter: transmitter.Config{
			Process:  process.Config{Model: process.Constant(25)},
			Sensor:   transmitter.Sensor{Scale: transmitter.Scale{Lower: -50, Upper: 250, Unit: kPa}, AtC: 20, MinimumSpan: 1},
			Range:    transmitter.Scale{Lower: 0, Upper: 100, Unit: kPa},
			Transfer: transmitter.Transfer{Power: 1},
		},
	}
}

// add adds a fault that must be right.
func (b *bench) add(f Fault) (name string) {
	b.Helper()
	name, err := b.set.Add(b.line.Now(), f)
	if err != nil {
		b.Fatal(err)
	}
	return name
}

// say has a station of a name send, and gives what is heard within two seconds.
func (b *bench) say(talker string, chars []byte) []sim.Heard {
	b.Helper()
	mouth := &tape{bursts: []*sim.Burst{burst(b.line.Now(), chars)}}
	seat := b.line.Join(mouth)
	seat.Name = talker
	b.ear.heard = nil
	b.line.Run(b.line.Now() + 2*sim.Second)
	b.line.Leave(seat)
	return b.ear.events()
}

// whoIs asks a polling address for command 0, and gives the replies to it that were
// heard whole.
func (b *bench) whoIs(polling uint8) (replies []sim.Heard) {
	b.Helper()
	f := frame.Frame{Kind: frame.STX, Address: frame.Polling(polling), Primary: true}
	chars, err := f.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		b.Fatal(err)
	}
	for _, h := range b.say("primary master", chars) {
		if h.Event.Outcome == frame.Whole && h.Event.Frame.Kind == frame.ACK {
			replies = append(replies, h)
		}
	}
	return replies
}

// always is a fault that strikes whenever it can.
func always(kind string, settings map[string]float64) Fault {
	return Fault{Kind: kind, Probability: 1, Settings: settings}
}

// on is always for a device.
func on(tag, kind string, settings map[string]float64) Fault {
	return Fault{Kind: kind, Device: tag, Probability: 1, Settings: settings}
}

// alone is a line with one fault and nobody on it, to send through by hand.
func alone(t testing.TB, seed uint64, faults ...Fault) (*Set, *sim.Seat) {
	t.Helper()
	b := newBench(t, seed)
	for _, f := range faults {
		b.add(f)
	}
	seat := b.line.Join(&tape{})
	seat.Name = "primary master"
	return b.set, seat
}
