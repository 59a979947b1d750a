package device_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/device"
)

// snapshot is all that a master can read of a device, but for its status and what
// it has counted.
func snapshot(b *bench, d *device.Device) map[uint16]string {
	all := map[uint16]string{}
	for _, def := range payload.All() {
		if def.Write || def.Command == 95 || def.Command == 48 {
			continue
		}
		l, err := def.Layout(frame.STX, d.Config().Revision)
		if err != nil {
			continue
		}
		reply := b.ask(b.request(def.Command, make([]byte, l.MinLen())...))
		if code, _ := reply.Status.Response.Code(); def.Command <= 16 && !payload.Executed(code) {
			b.Fatalf("command %d, which every device has, is refused with %d", def.Command, code)
		}
		data := reply.Payload()
		if def.Command == 9 && len(data) > 4 {
			data = data[:len(data)-4] // the time stamp
		}
		all[def.Command] = string(data)
	}
	return all
}

// What is refused changes nothing, whatever was asked; what is done is answered
// with the data of the request or with what became of them, and a device with
// what was kept then is the same device.
func TestRefusedChangesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		revision := rapid.SampledFrom([]uint8{5, 6, 7}).Draw(rt, "revision")
		c := config(revision)
		if revision == 6 {
			c.Type = 3
		}
		s := &shelf{}
		b := keeping(t, s, c)
		d := b.devices[0]
		for range rapid.IntRange(1, 8).Draw(rt, "writes") {
			command, data := drawWrite(rt, revision)
			before := snapshot(b, d)
			b.line.Run(b.line.Now() + 3*sim.Second) // a self test is over
			reply := b.ask(b.request(command, data...))
			code, _ := reply.Status.Response.Code()
			after := snapshot(b, d)
			if diff := cmp.Diff(before, after); !payload.Executed(code) && diff != "" {
				rt.Fatalf("command %d %x was refused with %d and changed:\n%s", command, data, code, diff)
			}
		}
		if len(s.kept) == 0 {
			return
		}
		b.code(42) // what is held or simulated is gone
		b.line.Run(b.line.Now() + 3*sim.Second)
		want := snapshot(b, d)
		c.Memory = s.kept[len(s.kept)-1]
		again := keeping(t, &shelf{}, c)
		if diff := cmp.Diff(want, snapshot(again, again.devices[0])); diff != "" {
			rt.Fatalf("what came back is not what was written, want - got +:\n%s", diff)
		}
	})
}

// drawWrite draws a command that writes, with data that are all chance, or small
// numbers that mean something more often.
func drawWrite(rt *rapid.T, revision uint8) (command uint16, data []byte) {
	var commands []uint16
	for _, def := range payload.All() {
		if _, err := def.Layout(frame.STX, revision); err == nil && def.Write {
			commands = append(commands, def.Command)
		}
	}
	def, _ := payload.Lookup(rapid.SampledFrom(commands).Draw(rt, "command"))
	l, _ := def.Layout(frame.STX, revision)
	bytes := rapid.Byte()
	if rapid.Bool().Draw(rt, "small") {
		bytes = rapid.SampledFrom([]byte{0, 1, 2, 5, 12, 32, 57, 0x40, 0x41, 0x42, 0x80, 0xc8, 250})
	}
	return def.Command, rapid.SliceOfN(bytes, l.MinLen(), l.MaxLen()+1).Draw(rt, "data")
}
