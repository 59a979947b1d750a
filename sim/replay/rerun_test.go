package replay

import (
	"slices"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/master"
)

// known is a transaction with a command that there is a definition of.
func known(t *testing.T, x Transaction) Transaction {
	t.Helper()
	d, ok := payload.Lookup(x.Request.Number())
	if !ok {
		t.Fatalf("nothing is known of command %d", x.Request.Number())
	}
	x.Definition, x.Revision = d, 7
	return x
}

// rerun asks devices that answer as in now what was recorded as was.
func rerun(t *testing.T, r *Rerun, now []Transaction) (verdicts []Verdict) {
	t.Helper()
	tell := r.Tell
	r.Tell = func(c *Comparison) {
		verdicts = append(verdicts, c.Verdict)
		if tell != nil {
			tell(c)
		}
	}
	line := sim.NewLine(1)
	line.Join(NewDevices(&Recording{Transactions: now}))
	m := master.New(master.Config{Primary: true}, r.Run)
	defer m.Close()
	line.Join(m)
	for !m.Done() && line.Next() != sim.Never {
		line.Run(line.Next())
	}
	if m.Err() != nil {
		t.Fatal(m.Err())
	}
	return verdicts
}

// level is a reply to command 1 with a unit and a number: 4.0 or 4.5, in kPa or bar.
func level(polling uint8, unit, low byte) Transaction {
	return answered(request(polling, 1), 0, unit, 0x40, low, 0, 0)
}

const kPa, bar = 12, 7

func TestVerdicts(t *testing.T) {
	status := known(t, level(6, kPa, 0x80))
	status.Reply.Status.Device = frame.LoopCurrentFixed
	cold := known(t, level(7, kPa, 0x80))
	cold.Reply.Status.Device = frame.ColdStart
	expanded := known(t, level(8, kPa, 0x80))
	expanded.Request.Expansion = []byte{1}
	was := []Transaction{
		known(t, level(1, kPa, 0x80)),                               // the same now
		known(t, level(2, kPa, 0x80)),                               // another number
		known(t, level(3, kPa, 0x80)),                               // silent now
		known(t, Transaction{Request: request(4, 1), Fate: Silent}), // answered now
		known(t, Transaction{Request: request(5, 1), Fate: Silent}), // silent now too
		known(t, Transaction{Request: request(1, 1), Fate: Untold}), // who knows
		status, // not fixed now
		cold,   // not cold now
		known(t, answered(request(1, 34), 0, 0x40, 0, 0, 0)), // a write
		answered(request(1, 130), 0),                         // nothing is known of it
		expanded,                                             //
	}
	now := []Transaction{
		level(1, kPa, 0x80), level(2, kPa, 0x90), level(4, kPa, 0x80), level(6, kPa, 0x80), level(7, kPa, 0x80),
	}
	want := []Verdict{Same, Different, Missing, Extra, Same, Open, Different, Same, LeftOut, LeftOut, Unsendable}
	for _, fields := range []bool{false, true} {
		var history []frame.DeviceStatus
		r := &Rerun{Recording: &Recording{Transactions: was}, Fields: fields,
			Tell: func(c *Comparison) { history = append(history, c.History) }}
		if got := rerun(t, r, now); !slices.Equal(got, want) {
			t.Errorf("fields %v: verdicts %v, want %v", fields, got, want)
		}
		if history[7] != frame.ColdStart {
			t.Errorf("fields %v: cold start is not named", fields)
		}
		if r.InOrder() || r.Verdicts[Same] != 3 || r.Replies != 6 {
			t.Errorf("fields %v: in order %v, counts %v, %d replies", fields, r.InOrder(), r.Verdicts, r.Replies)
		}
	}
}

func TestWritesAreSentWhenTheyAreMeant(t *testing.T) {
	was := []Transaction{known(t, answered(request(1, 34), 0, 0x40, 0, 0, 0)), answered(request(1, 130), 0)}
	r := &Rerun{Recording: &Recording{Transactions: was}, Writes: true}
	if got := rerun(t, r, was); !slices.Equal(got, []Verdict{Same, Same}) || !r.InOrder() {
		t.Errorf("verdicts %v, want two the same", got)
	}
}

// TestMissingIsAskedAgain: a device that is silent twice and then answers is the same; one
// that stays silent is missing. Nobody is asked again where silence was recorded.
func TestMissingIsAskedAgain(t *testing.T) {
	was := []Transaction{known(t, level(1, kPa, 0x80)), known(t, level(2, kPa, 0x80)), known(t, Transaction{Request: request(3, 1), Fate: Silent})}
	silent := Transaction{Request: request(1, 1), Fate: Silent}
	var tries []int
	r := &Rerun{Recording: &Recording{Transactions: was}, Retries: 2, Tell: func(c *Comparison) { tries = append(tries, c.Tries) }}
	got := rerun(t, r, []Transaction{silent, silent, level(1, kPa, 0x80)})
	if !slices.Equal(got, []Verdict{Same, Missing, Same}) || !slices.Equal(tries, []int{3, 3, 1}) || r.Repeated != 4 {
		t.Errorf("verdicts %v in %v tries, %d repeated", got, tries, r.Repeated)
	}
}

func TestWhatAMasterSends(t *testing.T) {
	for recorded, want := range map[int]int{0: 20, 1: 20, 3: 5, 7: 7, 20: 20, 300: 20} {
		x := Transaction{Request: request(3, 1), Preambles: recorded}
		if got := x.again().Preambles; got != want {
			t.Errorf("%d preambles recorded: %d are sent, want %d", recorded, got, want)
		}
	}
	for _, test := range []struct {
		command uint8
		data    string
		want    bool
	}{{1, "", true}, {31, "\x02\x00\x09", true}, {31, "\x00\x03", false}, {31, "", true}} {
		f := request(3, test.command, []byte(test.data)...)
		if got := sendable(&f); got != test.want {
			t.Errorf("command %d, data % x: sendable %v", test.command, test.data, got)
		}
	}
}

// TestFieldsThatCameAndWent: values that only one of two replies has are differences, and
// slots are told apart.
func TestFieldsThatCameAndWent(t *testing.T) {
	current := []byte{0x40, 0x80, 0, 0, kPa, 0x40, 0x80, 0, 0}
	more := append(slices.Clone(current), bar, 0x40, 0x80, 0, 0)
	slots := []byte{0, kPa, 0x40, 0x80, 0, 0, 1, kPa, 0x40, 0x80, 0, 0}
	changed := append(slices.Clone(slots[:8]), 0x40, 0x90, 0, 0)
	for _, test := range []struct {
		command  uint8
		was, is  []byte
		slot     int
		had, has bool
	}{
		{3, current, more, -1, false, true},
		{3, more, current, -1, true, false},
		{33, slots, changed, 1, true, true},
	} {
		was := known(t, answered(request(1, test.command), 0, test.was...))
		is := replyTo(request(1, test.command), test.is...)
		var c comparer
		found, _ := c.compare(&was, &is, true)
		if len(found) != 1 || found[0].Part != Value || (found[0].Was != nil) != test.had || (found[0].Is != nil) != test.has {
			t.Errorf("command %d: found %+v", test.command, found)
			continue
		}
		v := found[0].Was
		if v == nil {
			v = found[0].Is
		}
		if w := found[0].Is; v.Slot != test.slot || test.had && test.has && w.Raw[1] != 0x90 {
			t.Errorf("command %d: slot %d, want %d", test.command, v.Slot, test.slot)
		}
	}
}

// TestDifferences: what is not the same is found, each part once, and nothing else.
func TestDifferences(t *testing.T) {
	was := known(t, level(1, kPa, 0x80))
	reply := func(change func(f *frame.Frame)) frame.Frame {
		f := was.Reply.Clone()
		change(&f)
		return f
	}
	for _, test := range []struct {
		name   string
		is     frame.Frame
		parts  []Part
		fields []string
	}{
		{"nothing", reply(func(*frame.Frame) {}), nil, nil},
		{"number", reply(func(f *frame.Frame) { f.Data[2] = 0x90 }), []Part{Data}, []string{"primary variable"}},
		{"unit", reply(func(f *frame.Frame) { f.Data[0] = bar }), []Part{Data}, []string{"primary variable"}},
		{"response", reply(func(f *frame.Frame) { f.Status.Response = 16; f.Data = nil }), []Part{Response, Data}, nil},
		{"burst mode", reply(func(f *frame.Frame) { f.Burst = true }), []Part{BurstMode}, nil},
		{"responder", reply(func(f *frame.Frame) { f.Address = frame.Polling(2) }), []Part{Responder}, nil},
		{"status", reply(func(f *frame.Frame) { f.Status.Device = frame.DeviceMalfunction }), []Part{DeviceStatus}, nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			var c comparer
			found, _ := c.compare(&was, &test.is, false)
			var parts []Part
			for _, d := range found {
				parts = append(parts, d.Part)
			}
			if !slices.Equal(parts, test.parts) {
				t.Errorf("by bytes: parts %v, want %v", parts, test.parts)
			}
			found, _ = c.compare(&was, &test.is, true)
			var names []string
			for _, d := range found {
				if d.Part == Value {
					names = append(names, d.Was.Field.Name)
				}
			}
			if !slices.Equal(names, test.fields) {
				t.Errorf("by fields: %v, want %v", names, test.fields)
			}
		})
	}
}
