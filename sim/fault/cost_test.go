package fault

import (
	"testing"

	"looptone/sim"
)

// What cannot strike costs nothing.
func TestSendAllocatesNothing(t *testing.T) {
	message := published(t)[0]
	for name, faults := range map[string][]Fault{
		"no fault":              nil,
		"a fault of a device":   {on("PT-1", "no reply", nil)},
		"a fault of another":    {{Kind: "bit errors", Talker: "secondary master", Probability: 1}},
		"a fault whose time is": {{Kind: "bit errors", Probability: 1, From: sim.Second}},
		"a fault by chance":     {{Kind: "bit errors"}},
	} {
		b := newBench(t, 1, "PT-1")
		for _, f := range faults {
			b.add(f)
		}
		seat, out, own := b.line.Join(&tape{}), b.line.Join(&port{}), burst(0, message)
		seat.Name = "primary master"
		trouble := b.set.Trouble("PT-1")
		if name == "a fault of a device" {
			trouble = b.set.Trouble("PT-2")
		}
		if n := testing.AllocsPerRun(100, func() {
			if b.set.Send(0, seat, own) != own || trouble(0, false).Silent {
				t.Fatal("something was struck")
			}
			if chars, _ := b.set.Arrive(0, out, message, nil); &chars[0] != &message[0] {
				t.Fatal("what came in was struck")
			}
		}); n != 0 {
			t.Errorf("%s: %g allocations a burst, want none", name, n)
		}
	}
}

func BenchmarkSendWithoutFaults(b *testing.B) {
	bench := newBench(b, 1)
	seat, own := bench.line.Join(&tape{}), burst(0, text(30))
	b.ReportAllocs()
	for b.Loop() {
		bench.set.Send(0, seat, own)
	}
}

func BenchmarkSendWithBitErrors(b *testing.B) {
	bench := newBench(b, 1)
	bench.add(Fault{Kind: "bit errors", Probability: 1})
	seat, own := bench.line.Join(&tape{}), burst(0, text(30))
	b.ReportAllocs()
	for b.Loop() {
		bench.set.Send(0, seat, own)
	}
}
