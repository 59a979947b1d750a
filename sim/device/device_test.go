package device_test

import (
	"slices"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
)

// identify asks a polling address who is there; heard is what came.
func (b *bench) identify(polling uint8) (heard []sim.Heard) {
	b.Helper()
	heard, _ = b.send(b.message(frame.Frame{Kind: frame.STX, Address: frame.Polling(polling), Primary: true}))
	return heard
}

func TestReplyStartsAfterTheLatency(t *testing.T) {
	for _, latency := range []sim.Tick{sim.CarrierLead, 40 * sim.Millisecond, sim.SlaveTimeOut} {
		c := config(7)
		c.Latency = latency
		b := newBench(t, c)
		heard, end := b.send(b.message(b.request(1)))
		if len(heard) != 1 || heard[0].Begin-end != latency || heard[0].Event.Preambles != 7 {
			t.Errorf("latency %v: heard %+v, want a reply %v behind the request, with 7 preambles", latency.Duration(), heard, latency.Duration())
		}
	}
}

// A device that has a reply to send does not listen: a second request that ends
// before that goes unanswered.
func TestOneReplyAtATime(t *testing.T) {
	c := config(7)
	c.Latency = sim.SlaveTimeOut
	b := newBench(t, c)
	first := b.message(b.request(1))
	heard, _ := b.send(append(slices.Clone(first), b.message(b.request(2))...))
	if len(heard) != 1 || heard[0].Event.Frame.Command != 1 {
		t.Errorf("heard %+v, want the reply to the first request alone", heard)
	}
}

func TestReplyHasTheRequestsFormOfAddress(t *testing.T) {
	c := config(5)
	c.Polling = 4
	b := newBench(t, c)
	heard := b.identify(4)
	if len(heard) != 1 || heard[0].Event.Frame.Address != frame.Polling(4) || heard[0].Event.Frame.Command != 0 {
		t.Errorf("heard %+v, want a reply from polling address 4", heard)
	}
	if heard := b.identify(3); len(heard) != 0 {
		t.Errorf("asked polling address 3, heard %+v", heard)
	}
}

// Source: Siemens Pointek CLS500 7ML19985GG03 p.30 (revision 5: a multidrop address
// parks the current at 4 mA); from memory that later the loop current mode alone
// decides, and that a request without one is taken as revision 5 takes it.
func TestWritePollingAddressParks(t *testing.T) {
	tests := []struct {
		revision uint8
		polling  uint8
		mode     bool // at first
		data     []byte
		want     uint8 // polling address afterwards
		parked   bool
	}{
		{5, 0, true, []byte{2}, 2, true},
		{5, 2, true, []byte{0}, 0, false},
		{5, 2, true, []byte{15}, 15, true},
		{5, 0, true, []byte{16}, 0, false},
		{7, 0, true, []byte{2, 1}, 2, false},
		{7, 0, true, []byte{2, 0}, 2, true},
		{7, 2, false, []byte{0, 0}, 0, true},
		{7, 2, false, []byte{63, 1}, 63, false},
		{7, 2, false, []byte{0}, 0, false},
		{6, 0, true, []byte{5}, 5, true},
	}
	for _, tt := range tests {
		c := config(tt.revision)
		c.Polling, c.LoopCurrent = tt.polling, tt.mode
		b := newBench(t, c)
		reply := b.ask(b.request(6, tt.data...))
		if got := len(b.identify(tt.want)); got != 1 {
			t.Errorf("%+v: %d answers at polling address %d", tt, got, tt.want)
		}
		want := 12.0
		if tt.parked {
			want = 4
		}
		if got := b.devices[0].Transmitter().LoopCurrentMA(); got != want {
			t.Errorf("%+v: got %v mA, want %v mA", tt, got, want)
		}
		if fixed := reply.Status.Device&frame.LoopCurrentFixed != 0; fixed != tt.parked {
			t.Errorf("%+v: status %v, want loop current fixed only where it is parked", tt, reply.Status.Device.Names())
		}
	}
}

// Source: FieldComm Group support folder 8000075119 p.3.
func TestInvalidModeLeavesTheAddressAlone(t *testing.T) {
	c := config(7)
	c.Polling, c.LoopCurrent = 2, false
	b := newBench(t, c)
	if got := b.code(6, 5, 2); got != 12 {
		t.Errorf("got response code %d, want 12", got)
	}
	d := b.devices[0]
	if d.Polling() != 2 || d.Transmitter().LoopCurrentMA() != 4 || len(b.identify(5)) != 0 || len(b.identify(2)) != 1 {
		t.Errorf("polling address %d, %v mA, want 2 and 4 mA as before", d.Polling(), d.Transmitter().LoopCurrentMA())
	}
}

// Source: from memory (nobody but the owner of the tag answers).
func TestBroadcastIsAnsweredByTheTagsOwner(t *testing.T) {
	first, second := config(5), config(7)
	second.Tag, second.DeviceID, second.Polling = "PT-2", 7, 1
	b := newBench(t, first, second)
	ask := func(tag string, command uint16) []byte {
		data, err := payload.AppendPackedASCII(nil, tag, 6)
		if err != nil {
			t.Fatal(err)
		}
		f := frame.Frame{Kind: frame.STX, Address: frame.Broadcast, Primary: true}
		f.SetNumber(command, data)
		return b.message(f)
	}
	for _, d := range b.devices {
		heard, _ := b.send(ask(d.Config().Tag, 11))
		if len(heard) != 1 || heard[0].Event.Frame.Address != d.Config().Unique() || heard[0].Event.Frame.Status.Response != 0 {
			t.Fatalf("tag %s: heard %+v, want the reply of its owner", d.Config().Tag, heard)
		}
		reply := heard[0].Event.Frame
		decodes(t, 11, &reply, d.Config().Revision)
		id := d.Config().DeviceID
		if got, want := reply.Data[9:12], []byte{byte(id >> 16), byte(id >> 8), byte(id)}; !slices.Equal(got, want) {
			t.Errorf("tag %s: got device ID %x, want %x", d.Config().Tag, got, want)
		}
	}
	b.silent("a tag that nobody has", ask("PT-3", 11))
	b.silent("a broadcast of command 3", ask("FT-1", 3))
	b.silent("a broadcast of a command that is not implemented", ask("FT-1", 200))
	damaged := ask("FT-1", 11)
	damaged[len(damaged)-1] ^= 1
	b.silent("a damaged broadcast", damaged)
}

// Source: ABB Endura AZ manual IM/AZ20E-EN rev F p.74, table 7.4 (the bits);
// reading notes on the data link layer document, blog post 139347795 (what is
// damaged up to its byte count is not answered).
func TestDamagedRequests(t *testing.T) {
	b := newBench(t, config(7))
	request := b.message(b.request(9, 0, 1))
	last := int64(len(request) - 1)
	const delimiter, address, command, count, data = 5, 7, 11, 12, 13
	wrong := slices.Clone(request)
	wrong[last] ^= 0x40
	for _, tt := range []struct {
		what  string
		chars []byte
		marks []frame.MarkAt
		want  frame.Response
	}{
		{"check byte", wrong, nil, 0x88},
		{"parity in the data", request, []frame.MarkAt{{Pos: data, Mark: frame.Parity}}, 0xc0},
		{"framing in the data", request, []frame.MarkAt{{Pos: data + 1, Mark: frame.Framing}}, 0x90},
		{"parity in the check byte", request, []frame.MarkAt{{Pos: last, Mark: frame.Parity}}, 0xc0},
		{"parity and check byte", wrong, []frame.MarkAt{{Pos: data, Mark: frame.Parity}}, 0xc8},
	} {
		heard, end := b.send(tt.chars, tt.marks...)
		if len(heard) != 1 {
			t.Errorf("%s: heard %+v, want one reply", tt.what, heard)
			continue
		}
		reply := heard[0].Event.Frame
		if reply.Status.Response != tt.want || len(reply.Data) != 0 || reply.Command != 9 {
			t.Errorf("%s: got %+v, want communication errors %02x and no data", tt.what, reply, uint8(tt.want))
		}
		if got := heard[0].Begin - end; got != 40*sim.Millisecond {
			t.Errorf("%s: answered after %v, want 40ms", tt.what, got.Duration())
		}
	}
	for what, pos := range map[string]int64{"delimiter": delimiter, "address": address, "command": command, "byte count": count} {
		b.silent("parity in the "+what, request, frame.MarkAt{Pos: pos, Mark: frame.Parity})
	}
	b.silent("a request that breaks off", request[:last])
	b.silent("a request that breaks off behind a parity error", request[:last], frame.MarkAt{Pos: data, Mark: frame.Parity})
	if got := b.code(1); got != 0 {
		t.Errorf("afterwards: response code %d, want 0", got)
	}
}

// Source: reading notes on the data link layer document, blog post 139347795 (a
// device that does not know the expansion bytes stays silent).
func TestExpansionBytesAreNotAnswered(t *testing.T) {
	b := newBench(t, config(7))
	f := b.request(0)
	f.Expansion = []byte{0}
	b.silent("an expansion byte", b.message(f))
}

// Source: Chinese "HART communication protocol VER 1.6" guide (short frames carry
// command 0 only).
func TestShortFrameAsksForCommand0Only(t *testing.T) {
	b := newBench(t, config(5))
	b.silent("command 3 in a short frame", b.message(frame.Frame{Kind: frame.STX, Address: frame.Polling(0), Primary: true, Command: 3}))
	if heard := b.identify(0); len(heard) != 1 {
		t.Errorf("command 0: heard %+v, want a reply", heard)
	}
}

func TestOthersAreNotAnswered(t *testing.T) {
	b := newBench(t, config(7))
	stranger := b.request(1)
	stranger.Address = frame.Unique(0x3903, 0x010204)
	b.silent("another device's request", b.message(stranger))
	reply := b.request(1)
	reply.Kind = frame.ACK
	b.silent("a reply with its own address", b.message(reply))
	chars := b.message(b.request(1))
	b.silent("a request behind one preamble", chars[4:])
}

// Source: Allen-Bradley 1794-UM063A p.C-6 (cleared by the first command that
// reports it); one flag per master from memory.
func TestColdStartIsToldOncePerMaster(t *testing.T) {
	b := newBench(t, config(7))
	var got []bool
	for _, primary := range []bool{true, true, false, false, true} {
		f := b.request(1)
		f.Primary = primary
		reply := b.ask(f)
		if reply.Primary != primary {
			t.Errorf("answered the other master")
		}
		got = append(got, reply.Status.Device&frame.ColdStart != 0)
	}
	if want := []bool{true, false, true, false, false}; !slices.Equal(got, want) {
		t.Errorf("got cold start %v, want %v", got, want)
	}
}

// Source: Allen-Bradley 1794-UM063A p.C-6 (set by every write); Biffi ICON3000 HART
// manual MDE 254 p.34 (revision 7: the counter must match); one flag per master
// from memory.
func TestConfigurationChanged(t *testing.T) {
	b := newBench(t, config(7))
	changed := func(primary bool) bool {
		f := b.request(1)
		f.Primary = primary
		return b.ask(f).Status.Device&frame.ConfigurationChanged != 0
	}
	counter := func() []byte { return b.ask(b.request(0)).Data[14:16] }
	if changed(true) || !slices.Equal(counter(), []byte{0, 0}) {
		t.Error("a new device tells a changed configuration")
	}
	b.code(6, 5, 0)
	b.code(6, 64, 0) // refused: changes nothing
	b.code(6, 6, 1)
	if !changed(true) || !changed(false) || !slices.Equal(counter(), []byte{0, 2}) {
		t.Errorf("after two writes: flags %v and %v, counter %x, want both and 2", changed(true), changed(false), counter())
	}
	if got := b.code(38, 0, 1); got != 9 || !changed(true) {
		t.Errorf("reset with counter 1: got response code %d, want 9 and the flag as it was", got)
	}
	if got := b.code(38, 0, 2); got != 0 || changed(true) || !changed(false) {
		t.Errorf("reset by the primary master: response code %d, want 0 and the other flag only", got)
	}
	if !slices.Equal(counter(), []byte{0, 2}) {
		t.Errorf("the reset changed the counter to %x", counter())
	}
}
