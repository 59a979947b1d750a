package fault

import (
	"bytes"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/sim"
)

// drawFault draws any fault that a line without devices can have, and that strikes
// messages.
func drawFault(t *rapid.T) Fault {
	var of []Kind
	for _, k := range Kinds() {
		if find(k.Name).message != nil {
			of = append(of, k)
		}
	}
	k := rapid.SampledFrom(of).Draw(t, "kind")
	f := Fault{Kind: k.Name, Probability: rapid.Float64Range(0, 1).Draw(t, "probability"), Settings: map[string]float64{}}
	for _, s := range k.Settings {
		v := rapid.Float64Range(s.Least, s.Most).Draw(t, s.Name)
		if s.Whole {
			v = float64(rapid.IntRange(int(s.Least), int(s.Most)).Draw(t, s.Name))
		}
		if s.NotZero && v == 0 {
			v = s.Usual
		}
		f.Settings[s.Name] = v
	}
	return f
}

// drawBurst draws a burst: a frame, or any characters, with marks and pauses.
func drawBurst(t *rapid.T) *sim.Burst {
	chars := rapid.SliceOfN(rapid.Byte(), 0, 60).Draw(t, "chars")
	if rapid.Bool().Draw(t, "is a frame") {
		f := frame.Frame{Kind: rapid.SampledFrom([]frame.Kind{frame.STX, frame.ACK, frame.BACK}).Draw(t, "frame type"),
			Address: frame.Polling(rapid.Byte().Draw(t, "polling")), Data: chars, Expansion: rapid.SliceOfN(rapid.Byte(), 0, 3).Draw(t, "expansion")}
		if rapid.Bool().Draw(t, "is long") {
			f.Address = frame.Unique(rapid.Uint16().Draw(t, "type"), rapid.Uint32().Draw(t, "id"))
		}
		chars, _ = f.AppendBinary(frame.AppendPreambles(nil, rapid.IntRange(0, 20).Draw(t, "preambles")))
	}
	b := &sim.Burst{At: sim.Tick(rapid.Int64Range(0, 1e9).Draw(t, "at")), Lead: sim.CarrierLead, Tail: sim.CarrierTail,
		Chars: chars, PPM: rapid.Int32Range(-10_000, 10_000).Draw(t, "ppm")}
	for i := range chars {
		switch rapid.IntRange(0, 30).Draw(t, "extra") {
		case 0:
			b.Marks = append(b.Marks, frame.MarkAt{Pos: int64(i), Mark: frame.Parity})
		case 1:
			b.Pauses = append(b.Pauses, sim.Pause{Before: i, For: sim.Character})
		}
	}
	return b
}

// bound is how long a burst can be at the most when faults have struck it.
func bound(b *sim.Burst, faults []Fault) (chars int, on sim.Tick) {
	chars, on = len(b.Chars), b.Off()-b.At
	for _, f := range faults {
		switch f.Kind {
		case "doubled characters":
			chars *= 2
		case "stray characters":
			chars += 20
		case "half character":
			chars++
		case "stuck carrier", "gap inside a frame":
			on += sim.Tick(f.Settings["stuck_s"]*float64(sim.Second)+f.Settings["gap_chars"]*float64(sim.Character)) + 1
		}
	}
	longest := sim.Character + sim.Character/100 + 1 // the slowest clock
	return chars, on + sim.Tick(chars-len(b.Chars))*longest + sim.Tick(len(b.Chars))*longest
}

// Whatever strikes whatever is sent: what is on the line is well formed, and the
// same for the same seed.
func TestAnyFaultsOnAnyBurst(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		faults := rapid.SliceOfN(rapid.Custom(drawFault), 1, 6).Draw(rt, "faults")
		b := drawBurst(rt)
		now := b.At - sim.Tick(rapid.Int64Range(0, 1e6).Draw(rt, "ahead"))
		seed := rapid.Uint64().Draw(rt, "seed")
		once := struck(t, rt, seed, faults, now, *b)
		again := struck(t, rt, seed, faults, now, *b)
		if !bytes.Equal(once.Chars, again.Chars) || !slices.Equal(once.Marks, again.Marks) || !slices.Equal(once.Pauses, again.Pauses) ||
			once.Off() != again.Off() {
			rt.Fatalf("with the same seed %+v, then %+v", once, again)
		}
	})
}

func struck(t *testing.T, rt *rapid.T, seed uint64, faults []Fault, now sim.Tick, b sim.Burst) *sim.Burst {
	set, seat := alone(t, seed, faults...)
	got := set.Send(now, seat, &b)
	chars, on := bound(&b, faults)
	switch {
	case got.At < now || got.At != b.At:
		rt.Fatalf("sent at %d, planned for %d, and it is %d", got.At, b.At, now)
	case got.Lead < 0 || got.Tail < 0 || got.Off() < got.At:
		rt.Fatalf("lead %d, tail %d, off at %d", got.Lead, got.Tail, got.Off())
	case len(got.Chars) > chars || got.Off()-got.At > on:
		rt.Fatalf("%d characters in %d, want at most %d in %d", len(got.Chars), got.Off()-got.At, chars, on)
	}
	last := int64(-1)
	for _, m := range got.Marks {
		if m.Pos <= last || m.Pos >= int64(len(got.Chars)) || m.Mark == 0 {
			rt.Fatalf("mark %+v among %d characters", m, len(got.Chars))
		}
		last = m.Pos
	}
	before := -1
	for _, p := range got.Pauses {
		if p.Before <= before || p.Before >= len(got.Chars) || p.For <= 0 {
			rt.Fatalf("pause %+v among %d characters", p, len(got.Chars))
		}
		before = p.Before
	}
	return got
}

// A random line with every kind of fault coming and going: it goes on, nothing
// panics, and the same seed gives the same log.
func TestFaultsComeAndGo(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seed := rapid.Uint64().Draw(rt, "seed")
		steps := rapid.SliceOfN(rapid.Uint16(), 1, 12).Draw(rt, "steps")
		once, again := comeAndGo(t, seed, steps), comeAndGo(t, seed, steps)
		if len(once) != len(again) {
			rt.Fatalf("%d bursts, then %d, with the same seed", len(once), len(again))
		}
		for i := range once {
			if once[i].talker != again[i].talker || once[i].At != again[i].At || !bytes.Equal(once[i].Chars, again[i].Chars) {
				rt.Fatalf("burst %d is %+v, then %+v", i, once[i], again[i])
			}
		}
	})
}

// comeAndGo adds and removes faults as steps say, asks the devices in between, and
// removes all in the end, when everything is as it was.
func comeAndGo(t *testing.T, seed uint64, steps []uint16) []sent {
	b := newBench(t, seed, "PT-1", "PT-2", "PT-3")
	for _, step := range steps {
		k := kinds[int(step)%len(kinds)]
		f := Fault{Kind: k.Name, Probability: 1, Settings: map[string]float64{}}
		for _, s := range k.Settings {
			f.Settings[s.Name] = s.Usual
		}
		if k.Strikes == "device" {
			f.Device = []string{"PT-1", "PT-3"}[step>>8%2]
		}
		if k.Other != "" {
			f.Other = "PT-2"
		}
		if step>>10%2 == 1 {
			f.Until = b.line.Now() + 3*sim.Second
		}
		b.add(f)
		if step>>9%2 == 1 {
			b.set.Remove(b.line.Now(), b.set.Names()[0])
		}
		b.whoIs(uint8(1 + step>>11%3))
	}
	for _, name := range b.set.Names() {
		b.set.Remove(b.line.Now(), name)
	}
	b.line.Run(b.line.Now() + 10*sim.Second)
	if got := b.there(); got != "123" {
		t.Fatalf("steps %x: devices %s answer when all faults are gone", steps, got)
	}
	return b.log
}
