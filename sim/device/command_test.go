package device_test

import (
	"encoding/hex"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/device"
)

func unhex(t *testing.T, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The data of replies, put together by hand from the layouts.
//
// Source: Allen-Bradley 1794-UM063A appendix C (revision 5); Biffi ICON3000 HART
// manual MDE 254 pp.20-35 and Siemens SITRANS F US A5E34981613-AC pp.38-45
// (revision 7); Spectrum Controls 1769sc manual 0300215-03 pp.8-3, 8-4 (packed
// ASCII).
func TestRepliesOfBothRevisions(t *testing.T) {
	const (
		kPa25, mA12, percent50 = "0c 41c80000", "41400000", "42480000"
		celsius20              = "20 41a00000"
		tag                    = "194b71 820820" // FT-1
		blanks                 = "820820"
	)
	tests := []struct {
		command              uint16
		request              string
		revision5, revision7 string // "" where there is no such reply
	}{
		{0, "", "fe f9 03 05 05 02 04 30 00 010203", "fe f903 05 07 02 04 30 00 010203 07 02 0000 00 00f9 00f9 01"},
		{1, "", kPa25, kPa25},
		{2, "", mA12 + percent50, mA12 + percent50},
		{3, "", mA12 + kPa25 + kPa25 + celsius20, mA12 + kPa25 + kPa25 + celsius20},
		{6, "00", "00", ""},
		{6, "00 01", "", "00 01"},
		{7, "", "", "00 01"},
		{9, "00 f4", "", "00" + "00 41" + kPa25 + "c0" + "f4 00 39" + percent50 + "c0" + "00000c80"},
		{9, "f5 03", "", "00" + "f5 54 27" + mA12 + "c0" + "03 00 fa 7fa00000 30" + "00000c80"},
		{12, "", "0420c4" + strings.Repeat(blanks, 7), "0420c4" + strings.Repeat(blanks, 7)},
		{13, "", tag + "110820" + strings.Repeat(blanks, 3) + "010383", tag + "110820" + strings.Repeat(blanks, 3) + "010383"},
		{14, "", "010203 0c 437a0000 c2480000 3f800000", "010203 0c 437a0000 c2480000 3f800000"},
		{15, "", "00 01 0c 42c80000 00000000 3f000000 00 f9", "00 01 0c 42c80000 00000000 3f000000 00 fa 00"},
		{20, "", "", "4772f6df652031" + strings.Repeat("00", 25)},
		{38, "0000", "", "0000"},
		{48, "", "000000000000 0000 000000 000000", "000000000000 00 00 00 00 00 00 00 00"},
	}
	for _, tt := range tests {
		for revision, want := range map[uint8]string{5: tt.revision5, 7: tt.revision7} {
			if want == "" {
				continue
			}
			b := newBench(t, config(revision))
			reply := b.ask(b.request(tt.command, unhex(t, tt.request)...))
			if reply.Status.Response != 0 || reply.Number() != tt.command || reply.Address != b.devices[0].Config().Unique() || !reply.Primary {
				t.Errorf("command %d, revision %d: %+v, want the reply of the device to the primary master", tt.command, revision, reply)
			}
			if !slices.Equal(reply.Payload(), unhex(t, want)) {
				t.Errorf("command %d, revision %d:\ngot  %x\nwant %s", tt.command, revision, reply.Payload(), strings.ReplaceAll(want, " ", ""))
			}
			decodes(t, tt.command, &reply, revision)
		}
	}
}

// decodes wants a reply to fill a layout, and no more.
func decodes(t *testing.T, command uint16, reply *frame.Frame, revision uint8) {
	t.Helper()
	def, _ := payload.Lookup(command)
	for _, v := range def.Decode(nil, frame.ACK, reply.Payload(), revision).Values {
		if v.Incomplete || v.Field.Name == "extra bytes" {
			t.Errorf("command %d, revision %d: field %q is %x, want whole fields only", command, revision, v.Field.Name, v.Raw)
		}
	}
}

// Revision 5 takes the flag back without a counter, and says nothing else.
func TestResetOfRevision5IsEmpty(t *testing.T) {
	b := newBench(t, config(5))
	if reply := b.ask(b.request(38)); reply.Status.Response != 0 || len(reply.Data) != 0 {
		t.Errorf("got %+v, want success without data", reply)
	}
}

// A parked current shows where a device tells its analog channels.
//
// Source: Flowserve LMENIM2340-00 p.25; Spectrum Controls 1734sc-IE2CH manual
// 0300257-01 p.B-5, note 4.
func TestAdditionalStatusTellsTheParkedCurrent(t *testing.T) {
	for revision, want := range map[uint8]string{5: "000000000000 0000 000000 000001", 7: "000000000000 00 00 00 00 00 00 00 01"} {
		c := config(revision)
		c.Polling, c.LoopCurrent = 3, false
		b := newBench(t, c)
		if got := b.ask(b.request(48)).Data; !slices.Equal(got, unhex(t, want)) {
			t.Errorf("revision %d: got %x, want %s", revision, got, want)
		}
	}
}

// Source: from memory (the standard's transfer function codes but for linear).
func TestTransferFunctionCodes(t *testing.T) {
	for power, want := range map[float64]byte{1: 0, 0.5: 1, 1.5: 2, 2.5: 3, 2: 5, 1.2: 4} {
		c := config(7)
		c.Transmitter.Transfer.Power = power
		b := newBench(t, c)
		if got := b.ask(b.request(15)).Data[1]; got != want {
			t.Errorf("power %v: got transfer function %d, want %d", power, got, want)
		}
	}
}

// Source: ABB Endura AZ manual IM/AZ20E-EN rev F p.74, table 7.4 (64 command not
// implemented, 5 too few data bytes); Flowserve LMENIM2340-00 pp.61-65.
func TestResponseCodes(t *testing.T) {
	tests := []struct {
		revision uint8
		command  uint16
		data     string
		want     uint8
	}{
		{5, 200, "", 64}, {7, 200, "", 64}, {7, 4, "", 64}, {7, 600, "", 64}, {7, 131, "0102", 64},
		{5, 7, "", 64}, {5, 9, "00", 64}, {5, 20, "", 64}, {6, 20, "", 0},
		{6, 9, "", 5}, {7, 9, "", 5}, {5, 6, "", 5}, {7, 6, "", 5}, {7, 38, "00", 5}, {7, 48, "0000", 5},
		{5, 6, "10", 2}, {7, 6, "40 00", 2}, {7, 6, "05 02", 12},
		{7, 38, "0001", 9},
		{5, 38, "", 0}, {6, 38, "", 0},
		{7, 1, "010203", 0}, // a device ignores what it does not know
	}
	for _, tt := range tests {
		b := newBench(t, config(tt.revision))
		if got := b.code(tt.command, unhex(t, tt.data)...); got != tt.want {
			t.Errorf("revision %d, command %d %s: got response code %d, want %d", tt.revision, tt.command, tt.data, got, tt.want)
		}
	}
}

// Eight variables are the most that command 9 reads; further codes are extra bytes.
//
// Source: Biffi ICON3000 HART manual MDE 254 pp.24-25 (69 bytes for 8 slots).
func TestCommand9ReadsEightVariables(t *testing.T) {
	b := newBench(t, config(7))
	for n, want := range map[int]int{1: 13, 2: 21, 8: 69, 9: 69} {
		reply := b.ask(b.request(9, make([]byte, n)...))
		if reply.Status.Response != 0 || len(reply.Data) != want {
			t.Errorf("%d codes: response %d with %d bytes, want 0 with %d", n, reply.Status.Response, len(reply.Data), want)
		}
	}
}

// Source: Flowserve LMENIM2340-00 p.25 (an exact copy acknowledges; more bytes are
// ignored), p.65 (14 status bytes mismatch).
func TestAcknowledgeAdditionalStatus(t *testing.T) {
	b := newBench(t, config(7))
	now := b.ask(b.request(48)).Data
	for _, tt := range []struct {
		what string
		data []byte
		want uint8
	}{
		{"the status", now, 0},
		{"the status and more", append(slices.Clone(now), 1, 2), 0},
		{"another status", append([]byte{1}, now[1:]...), 14},
		{"half of the status", now[:7], 5},
	} {
		reply := b.ask(b.request(48, tt.data...))
		if got := uint8(reply.Status.Response); got != tt.want {
			t.Errorf("%s: got response code %d, want %d", tt.what, got, tt.want)
		}
		if payload.Executed(tt.want) && !slices.Equal(reply.Data, now) {
			t.Errorf("%s: got %x, want %x", tt.what, reply.Data, now)
		}
	}
}

func TestNewRefuses(t *testing.T) {
	for _, tt := range []struct {
		spoil func(c *device.Config)
		want  string
	}{
		{func(c *device.Config) { c.Revision = 8 }, "revision: got 8, want 5, 6 or 7"},
		{func(c *device.Config) { c.Polling = 64 }, "polling: got 64, want 0 to 63, as revision 7 has them"},
		{func(c *device.Config) { c.DeviceID = 1 << 24 }, "device_id: got 16777216, want 0 to 16777215"},
		{func(c *device.Config) { c.Revision = 6 }, "device_type: got 63747, want 0 to 255 in revision 6"},
		{func(c *device.Config) { c.Revision, c.Type, c.Maker = 5, 1, 256 }, "maker: got 256, want 0 to 255 in revision 5"},
		{func(c *device.Config) { c.Type, c.DeviceID = 0xc000, 0 },
			"device_id: got 0, want another one: with this device_type it makes the broadcast address"},
		{func(c *device.Config) { c.Latency = sim.SlaveTimeOut + 1 }, "latency_ms: got 256.666833, want 4.166666, " +
			"which the carrier needs to come up, to 256.666666, the slave time-out: a device is later only by a fault"},
		{func(c *device.Config) { c.Preambles = 21 }, "preambles: got 21, want 5 to 20"},
		{func(c *device.Config) { c.ReplyPreambles = 4 }, "reply_preambles: got 4, want 5 to 20"},
		{func(c *device.Config) { c.Tag = "FT-101-EAST" }, "tag: has 11 characters, at most 8"},
		{func(c *device.Config) { c.LongTag = "€" }, "long_tag: has the character '€' at place 1: want characters of ISO 8859-1"},
		{func(c *device.Config) { c.Date = "" }, `date: is not a day: got "", want yyyy-mm-dd`},
		{func(c *device.Config) { c.Transmitter.DampingS = -1 }, "damping_s: got -1, want 0 or more"},
	} {
		c := config(7)
		tt.spoil(&c)
		if _, err := device.New(c); err == nil || err.Error() != tt.want {
			t.Errorf("got  %v\nwant %s", err, tt.want)
		}
	}
}
