package master_test

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
	"looptone/frame/unit"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/master"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

const kPa unit.Code = 12

// config is a device at a polling address that measures 25 of 100 kPa.
func config(revision, polling uint8) device.Config {
	id := device.Identity{Revision: revision, Maker: 249, Type: 1, DeviceID: 100 + uint32(polling), Preambles: 5, ReplyPreambles: 5}
	if revision >= 7 {
		id.Type = 0xf901
	}
	return device.Config{
		Identity: id, Tag: fmt.Sprintf("PT-%d", polling), LongTag: fmt.Sprintf("Pressure %d", polling), Date: "2031-03-01",
		Polling: polling, Latency: 40 * sim.Millisecond,
		Transmitter: transmitter.Config{
			Process: process.Config{Model: process.Constant(25)},
			Sensor:  transmitter.Sensor{Scale: transmitter.Scale{Lower: 0, Upper: 250, Unit: kPa}},
			Range:   transmitter.Scale{Lower: 0, Upper: 100, Unit: kPa},
		},
	}
}

// lineOf is a line with devices.
func lineOf(t *testing.T, seed uint64, configs ...device.Config) *sim.Line {
	t.Helper()
	l := sim.NewLine(seed)
	for _, c := range configs {
		d, err := device.New(c)
		if err != nil {
			t.Fatal(err)
		}
		l.Join(d)
	}
	return l
}

// A scanner is a master that scans, and what it found.
type scanner struct {
	*master.Master
	found []master.Found
}

func join(t *testing.T, l *sim.Line, c master.Config, from, to uint8) *scanner {
	s := &scanner{}
	scan := master.Scan{From: from, To: to, Retries: 2, Found: func(f master.Found) { s.found = append(s.found, f) }}
	s.Master = master.New(c, scan.Run)
	t.Cleanup(s.Close)
	l.Join(s.Master)
	return s
}

// run runs the line, event by event, until all have done: so it ends at the moment
// of the last event.
func run(t *testing.T, l *sim.Line, all ...*scanner) {
	t.Helper()
	for _, s := range all {
		for !s.Done() {
			if l.Next() == sim.Never {
				t.Fatal("the line came to rest before the scan had ended")
			}
			l.Run(l.Next())
		}
		if s.Err() != nil {
			t.Fatal(s.Err())
		}
	}
}

// scan asks addresses as the primary master.
func scan(t *testing.T, l *sim.Line, from, to uint8) []master.Found {
	t.Helper()
	s := join(t, l, master.Config{Primary: true}, from, to)
	run(t, l, s)
	return s.found
}

func TestScanLearnsWhatADeviceTells(t *testing.T) {
	l := lineOf(t, 1, config(5, 3), config(7, 9))
	text := func(s string) *string { return &s }
	fixed, mA, pv, u := false, 4.0, 25.0, kPa
	want := []master.Found{
		{Polling: 3, Tries: 1, Unique: frame.Unique(0x3901, 103), Manufacturer: 249, DeviceType: 1, UniversalRevision: 5,
			Preambles: 5, ResponseTime: 40 * sim.Millisecond, Tag: text("PT-3"), Descriptor: text(""),
			Modulated: &fixed, LoopCurrentMA: &mA, PV: &pv, PVUnit: &u, Status: frame.LoopCurrentFixed},
		{Polling: 9, Tries: 1, Unique: frame.Unique(0x3901, 109), Manufacturer: 249, DeviceType: 0xf901, UniversalRevision: 7,
			Preambles: 5, ResponseTime: 40 * sim.Millisecond, Tag: text("PT-9"), LongTag: text("Pressure 9"), Descriptor: text(""),
			Modulated: &fixed, LoopCurrentMA: &mA, PV: &pv, PVUnit: &u, Status: frame.LoopCurrentFixed},
	}
	if diff := cmp.Diff(want, scan(t, l, 0, 15), sameAddress); diff != "" {
		t.Errorf("want -, got +:\n%s", diff)
	}
}

// Source: FieldComm Group support article 8000040648 (a reply must start within 28
// characters).
func TestSlaveTimeOut(t *testing.T) {
	for _, tt := range []struct {
		latency, delay sim.Tick
		found          int
	}{
		{27 * sim.Character, 0, 1},
		{28 * sim.Character, 0, 1},
		{28 * sim.Character, 1, 0},
		{27 * sim.Character, 2 * sim.Character, 0},
	} {
		c := config(7, 3)
		c.Latency = tt.latency
		if tt.delay > 0 {
			c.Trouble = func(sim.Tick, bool) device.Trouble { return device.Trouble{Delay: tt.delay} }
		}
		found := scan(t, lineOf(t, 1, c), 3, 3)
		if len(found) != tt.found {
			t.Errorf("reply behind %v: found %+v, want %d devices", (tt.latency + tt.delay).Duration(), found, tt.found)
		}
		if len(found) == 1 && (found[0].ResponseTime != tt.latency || found[0].LongTag == nil) {
			t.Errorf("reply behind %v: found %+v, want that response time and a long tag", tt.latency.Duration(), found[0])
		}
	}
}

// Lengths of frames in characters: delimiter, address, command, byte count and
// check byte around the data, and the preambles before them; 20 of those while
// the device has not said how many it wants.
const (
	around           = 1 + 1 + 1 + 1 + 1
	aroundLong       = around + 4
	status           = 2
	shortRequest     = 20 + around
	longRequest      = 5 + aroundLong
	shortReply       = 5 + around + status
	longReply        = 5 + aroundLong + status
	data0Of5         = 12 // command 0 in revision 5
	data0Of7         = 22
	data13, data20   = 21, 32
	data7, data3     = 2, 19                                        // current; primary, secondary and tertiary variable
	silent           = sim.CarrierLead + shortRequest*sim.Character // and what the master waits then
	grant            = 8 * sim.Character
	quiet            = 33 * sim.Character
	quietOfSecondary = 41 * sim.Character
)

// A silent address costs its request and the time that the master waits until the
// line is its own again.
//
// Source: FieldComm Group support article 8000040648 (33 characters for a primary
// master, 41 for a secondary one).
func TestSilentAddressCostsLinkQuiet(t *testing.T) {
	for primary, wait := range map[bool]sim.Tick{true: quiet, false: quietOfSecondary} {
		for n := uint8(1); n <= 3; n++ {
			l := lineOf(t, 1)
			s := join(t, l, master.Config{Primary: primary}, 0, n-1)
			run(t, l, s)
			if want := wait + sim.Tick(n)*(silent+wait); l.Now() != want || len(s.found) != 0 {
				t.Errorf("primary %v, %d silent addresses: %d ticks and %+v, want %d and nothing", primary, n, l.Now(), s.found, want)
			}
		}
	}
}

// transaction is how long a request and its reply take, with so many characters,
// from carrier on to the end of the reply.
func transaction(request, reply int, latency sim.Tick) sim.Tick {
	return sim.CarrierLead + sim.Tick(request)*sim.Character + latency + sim.Tick(reply)*sim.Character
}

func TestScanOfSixteenAddressesTermByTerm(t *testing.T) {
	five, seven := config(5, 2), config(7, 9)
	five.Latency, seven.Latency = 80*sim.Millisecond, 20*sim.Millisecond

	want := sim.Tick(quiet)       // joining the line
	want += 14 * (silent + quiet) // nobody there
	for _, tt := range []struct { // each with the grant for the other master
		latency sim.Tick
		data    []int // of the replies: commands 0, 13, 20, 7, 3
	}{
		{five.Latency, []int{data0Of5, data13, data3}},
		{seven.Latency, []int{data0Of7, data13, data20, data7, data3}},
	} {
		want += transaction(shortRequest, shortReply+tt.data[0], tt.latency) + grant
		for _, n := range tt.data[1:] {
			want += transaction(longRequest, longReply+n, tt.latency) + grant
		}
	}
	l := lineOf(t, 1, five, seven)
	if found := scan(t, l, 0, 15); len(found) != 2 {
		t.Fatalf("found %+v, want two devices", found)
	}
	if l.Now() != want {
		t.Errorf("got %d ticks (%v), want %d (%v)", l.Now(), l.Now().Duration(), want, want.Duration())
	}
}

// sameAddress compares addresses, which cmp cannot look into.
var sameAddress = cmp.Comparer(func(a, b frame.Address) bool { return a == b })

// Two devices of equal level at one address, out of step or of different
// revisions: where their bits differ chance decides, and neither parity nor check
// byte hold. The address is asked three times.
func TestTwoDevicesAtOneAddress(t *testing.T) {
	want := []master.Found{{Polling: 3, Tries: 3, Unreadable: true}}
	for seed := range uint64(50) {
		for _, other := range []struct {
			revision uint8
			apart    sim.Tick
		}{{5, 0}, {5, sim.Bit / 2}, {7, sim.Bit + sim.Bit/2}, {7, 10 * sim.Millisecond}, {7, -30 * sim.Millisecond}} {
			one, two := config(7, 3), config(other.revision, 3)
			two.DeviceID = 104
			two.Latency += other.apart
			got := scan(t, lineOf(t, seed, one, two), 2, 4)
			if diff := cmp.Diff(want, got, sameAddress); diff != "" {
				t.Fatalf("seed %d, %+v: want -, got +:\n%s", seed, other, diff)
			}
		}
	}
}

// Two devices that differ in their device IDs alone and reply in step differ in a
// few bits of two characters. Chance may then make a reply of them that is whole:
// the exclusive or of a check byte does not protect. What is read is nobody's
// unique address, but keeps every bit that both send, and nobody answers to it.
func TestTwoDevicesInStep(t *testing.T) {
	const seeds = 200
	chimeras := 0
	for seed := range uint64(seeds) {
		one, two := config(7, 3), config(7, 3)
		one.DeviceID, two.DeviceID = 0x67, 0x68
		found := scan(t, lineOf(t, seed, one, two), 3, 3)
		if len(found) != 1 {
			t.Fatalf("seed %d: found %+v, want one address", seed, found)
		}
		f := found[0]
		if f.Unreadable {
			if f.Tries != 3 {
				t.Errorf("seed %d: unreadable after %d tries, want 3", seed, f.Tries)
			}
			continue
		}
		id := f.Unique.DeviceID()
		if equal := uint32(0xfffff0); id&equal != 0x67&equal || f.Unique.DeviceType() != 0x3901 {
			t.Errorf("seed %d: read %v, which changes bits that both send alike", seed, f.Unique)
		}
		if own := id == 0x67 || id == 0x68; own != (f.Tag != nil) {
			t.Errorf("seed %d: read %v with tag %v, want a tag of a real device only", seed, f.Unique, f.Tag)
		}
		if f.Tag == nil {
			chimeras++
		}
	}
	// Four bits of the device ID, four of the check byte and no parity bit differ:
	// they fit each other once in 16 × 2 times, and there are three tries.
	if chimeras == 0 || chimeras > seeds/4 {
		t.Errorf("%d of %d seeds gave an address that nobody has, want some and few", chimeras, seeds)
	}
}

// 12 dB are a ratio of 4: the stronger device is read as if it were alone, whether
// it begins first or not. The weaker one stays hidden; only its first preambles,
// where it begins first, count as the reply's, or a false one where the stronger carrier comes
// on and the phase jumps.
//
// Source: common practice (20 times the logarithm of the ratio; capture of the
// stronger carrier).
func TestStrongerDeviceIsReadCleanly(t *testing.T) {
	for _, apart := range []sim.Tick{-10 * sim.Millisecond, -sim.Bit / 2, 0, sim.Bit / 2, 10 * sim.Millisecond} {
		strong, weak := config(7, 3), config(7, 3)
		weak.DeviceID, weak.Tag = 104, "PT-4"
		strong.Level, weak.Level = 0.5, 0.125
		weak.Latency += apart
		alone := scan(t, lineOf(t, 1, strong), 3, 3)
		both := scan(t, lineOf(t, 1, strong, weak), 3, 3)
		if len(both) != 1 || both[0].Tag == nil || *both[0].Tag != "PT-3" {
			t.Fatalf("weaker one %v behind: found %+v, want the stronger one", apart.Duration(), both)
		}
		if got := both[0].ResponseTime; got > strong.Latency || got < min(strong.Latency-sim.CarrierLead-sim.Bit/2, weak.Latency) {
			t.Errorf("weaker one %v behind: response time %v, want that of the stronger or of the first, at the earliest that of its carrier", apart.Duration(), got.Duration())
		}
		both[0].ResponseTime = alone[0].ResponseTime
		if diff := cmp.Diff(alone, both, sameAddress); diff != "" {
			t.Errorf("weaker one %v behind: alone -, together +:\n%s", apart.Duration(), diff)
		}
	}
}

// A replier answers each request that it hears with the next of its messages, and
// keeps silent where that is empty and afterwards.
type replier struct {
	messages [][]byte
	asked    int
}

func (r *replier) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	for _, h := range heard {
		if h.Carrier != 0 || h.Event.Frame.Kind != frame.STX {
			continue
		}
		if r.asked++; r.asked <= len(r.messages) {
			return &sim.Burst{At: now + 5*sim.Character, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: r.messages[r.asked-1]}, sim.Never
		}
	}
	return nil, sim.Never
}

// What was heard once and could not be read makes an address worth two more
// questions, whatever those bring.
func TestUnreadableIsAskedAgain(t *testing.T) {
	garbage := []byte{0xff, 0xff, 0xff, 0x06, 0x83, 0x00, 0x0e, 0x00}
	errorReply := frame.Frame{Kind: frame.ACK, Address: frame.Polling(3), Primary: true, Status: frame.Status{Response: 0x88}}
	refused, err := errorReply.AppendBinary(frame.AppendPreambles(nil, 5))
	if err != nil {
		t.Fatal(err)
	}
	for name, messages := range map[string][][]byte{
		"garbage three times":          {garbage, garbage, garbage},
		"garbage once":                 {garbage},
		"garbage last":                 {garbage, nil, garbage},
		"communication error":          {refused, refused, refused},
		"communication error, silence": {refused},
	} {
		l := sim.NewLine(1)
		r := &replier{messages: messages}
		l.Join(r)
		want := []master.Found{{Polling: 3, Tries: 3, Unreadable: true}}
		got := scan(t, l, 3, 3)
		for i := range got {
			got[i].Status = 0
		}
		if diff := cmp.Diff(want, got, sameAddress); diff != "" || r.asked != 3 {
			t.Errorf("%s: asked %d times, want 3; want -, got +:\n%s", name, r.asked, diff)
		}
	}
}

func TestUnreadableAtFirst(t *testing.T) {
	l := lineOf(t, 1, config(7, 3))
	spoiler := &replier{messages: [][]byte{make([]byte, 40)}} // talks across the device's first reply
	l.Join(spoiler)
	found := scan(t, l, 3, 3)
	if len(found) != 1 || found[0].Unreadable || found[0].Tries != 2 || found[0].LongTag == nil || found[0].PV == nil {
		t.Errorf("found %+v, want everything at the second try", found)
	}
}

// Both masters scan at once. The token passes between them: neither disturbs the
// other, and each finds every device at the first try.
func TestTwoMastersShareTheLine(t *testing.T) {
	l := lineOf(t, 1, config(5, 2), config(7, 9), config(7, 0))
	primary := join(t, l, master.Config{Primary: true}, 0, 15)
	secondary := join(t, l, master.Config{}, 0, 15)
	run(t, l, primary, secondary)
	for _, s := range []*scanner{primary, secondary} {
		if len(s.found) != 3 {
			t.Fatalf("primary %v found %+v, want three devices", s.Primary, s.found)
		}
		for _, f := range s.found {
			if f.Tries != 1 || f.Unreadable || f.Tag == nil || f.PV == nil {
				t.Errorf("primary %v, polling address %d: %+v, want everything at the first try", s.Primary, f.Polling, f)
			}
		}
	}
}

// TestRivalStopsTheMaster: two masters with the same bit cannot share a line.
// Source: Allen-Bradley 1794-UM063A, p.C-1 (a primary and a secondary one).
func TestRivalStopsTheMaster(t *testing.T) {
	line := sim.NewLine(1)
	masters := make([]*master.Master, 2)
	for i := range masters {
		scan := master.Scan{To: 15, Retries: 0, Found: func(master.Found) {}}
		masters[i] = master.New(master.Config{Primary: true}, scan.Run)
		defer masters[i].Close()
	}
	line.Join(masters[0])
	line.Run(sim.Second)
	line.Join(masters[1])
	line.Run(3 * sim.Second)
	stopped := 0
	for _, m := range masters {
		if errors.Is(m.Err(), master.ErrRival) && m.Done() {
			stopped++
		}
	}
	if stopped == 0 {
		t.Errorf("both primary masters went on: %v, %v", masters[0].Err(), masters[1].Err())
	}
}

// TestHeedlessMasterGoesOn: it hears the requests of another master of its kind, and
// scans to the end.
func TestHeedlessMasterGoesOn(t *testing.T) {
	line := sim.NewLine(1)
	for _, joins := range []sim.Tick{0, sim.Second} {
		scan := master.Scan{To: 15, Retries: 0, Found: func(master.Found) {}}
		m := master.New(master.Config{Primary: true, Heedless: true}, scan.Run)
		defer m.Close()
		line.Run(joins)
		line.Join(m)
		defer func() {
			if !m.Done() || m.Err() != nil {
				t.Errorf("the master that joined at %v: done is %t, error %v", joins.Duration(), m.Done(), m.Err())
			}
		}()
	}
	line.Run(30 * sim.Second)
}

// A device that has gone in the middle of a scan is not asked for all the rest of it
// again and again; what its revision does not have is not missed.
func TestScanOfADeviceThatGoes(t *testing.T) {
	for revision, want := range map[uint8][]uint16{5: {13, 3}, 7: {13, 20, 7, 3}} {
		c := config(revision, 3)
		asked := 0
		c.Trouble = func(sim.Tick, bool) device.Trouble {
			asked++
			return device.Trouble{Silent: asked > 1}
		}
		found := scan(t, lineOf(t, 1, c), 3, 3)
		if len(found) != 1 || !slices.Equal(found[0].Unanswered, want) || asked != 1+3 {
			t.Errorf("revision %d: asked %d times, found %+v, want one device that did not answer %v, asked 4 times", revision, asked, found, want)
		}
	}
}
