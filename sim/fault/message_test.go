package fault

import (
	"bytes"
	"errors"
	"math/bits"
	"slices"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

// checkSum is what all bytes of a frame add up to without carry: 0 where the check
// byte fits.
//
// Source: Buerkert, Type 8605 description of communication, p.13 (exclusive or of
// all bytes from the delimiter on).
func checkSum(chars []byte) (sum byte) {
	for _, c := range chars {
		sum ^= c
	}
	return sum
}

// each says every published message on a line with one fault, and has the result
// looked at.
func each(t *testing.T, f Fault, look func(t *testing.T, message []byte, was *sent, heard []sim.Heard)) {
	t.Helper()
	for _, message := range published(t) {
		b := newBench(t, uint64(len(message)))
		b.add(f)
		heard := b.say("primary master", message)
		if len(b.log) != 1 {
			t.Fatalf("%d bursts were on the line, want one", len(b.log))
		}
		look(t, message, &b.log[0], heard)
	}
}

// one wants one event, of an outcome.
func one(t *testing.T, message []byte, heard []sim.Heard, want frame.Outcome) *frame.Event {
	t.Helper()
	if len(heard) != 1 || heard[0].Event.Outcome != want {
		t.Fatalf("%x: heard %+v, want one event of outcome %v", message, heard, want)
	}
	return &heard[0].Event
}

// fails wants damage with a cause.
func fails(t *testing.T, message []byte, ev *frame.Event, cause error) {
	t.Helper()
	if !errors.Is(ev.Err, cause) {
		t.Errorf("%x: heard damage %v, want %v", message, ev.Err, cause)
	}
}

func TestPublishedFramesPassWithoutFaults(t *testing.T) {
	each(t, Fault{Kind: "stuck carrier"}, func(t *testing.T, message []byte, was *sent, heard []sim.Heard) {
		if ev := one(t, message, heard, frame.Whole); !bytes.Equal(ev.Raw, message[5:]) || len(was.Marks) > 0 {
			t.Errorf("heard %x, want %x", ev.Raw, message[5:])
		}
	})
}

func TestWrongCheckByte(t *testing.T) {
	each(t, always("wrong check byte", nil), func(t *testing.T, message []byte, was *sent, heard []sim.Heard) {
		fails(t, message, one(t, message, heard, frame.Damaged), frame.ErrCheckByte)
		last := len(message) - 1
		if !bytes.Equal(was.Chars[:last], message[:last]) || was.Chars[last] == message[last] || len(was.Marks) > 0 {
			t.Errorf("sent %x, want %x with another check byte", was.Chars, message)
		}
	})
}

func TestWrongAddress(t *testing.T) {
	each(t, always("wrong address", nil), func(t *testing.T, message []byte, was *sent, heard []sim.Heard) {
		got := one(t, message, heard, frame.Whole).Frame
		want, err := frame.Parse(message[5:])
		if err != nil {
			t.Fatal(err)
		}
		changed := 0
		for i := range message[:len(message)-1] {
			changed += bits.OnesCount8(message[i] ^ was.Chars[i])
		}
		if got.Address == want.Address || got.Primary != want.Primary || got.Burst != want.Burst || changed != 1 {
			t.Errorf("%x: heard %+v, %d bits changed, want one bit of the address", message, got, changed)
		}
	})
}

func TestWrongByteCount(t *testing.T) {
	for _, off := range []float64{1, -1, 200, -255} {
		each(t, always("wrong byte count", map[string]float64{"count_off_bytes": off}), func(t *testing.T, message []byte, was *sent, _ []sim.Heard) {
			count := 5 + 3
			if message[5]&0x80 != 0 {
				count += 4
			}
			want := slices.Clone(message)
			want[count] = byte(min(max(int(want[count])+int(off), 0), 255)) // there is no count below 0
			want[len(want)-1] = checkSum(want[5 : len(want)-1])
			if !bytes.Equal(was.Chars, want) {
				t.Errorf("sent %x, want %x", was.Chars, want)
			}
		})
	}
	each(t, always("wrong byte count", nil), func(t *testing.T, message []byte, _ *sent, heard []sim.Heard) {
		fails(t, message, one(t, message, heard, frame.Damaged), frame.ErrCut)
	})
}

func TestGapInsideAFrame(t *testing.T) {
	for _, c := range []struct {
		chars float64
		heard bool
	}{{0.5, true}, {3, false}} {
		each(t, always("gap inside a frame", map[string]float64{"gap_chars": c.chars}), func(t *testing.T, message []byte, was *sent, heard []sim.Heard) {
			whole := sim.CarrierLead + sim.Tick(len(message))*sim.Character + sim.CarrierTail
			gap := sim.Tick(c.chars * float64(sim.Character))
			if got := was.Off() - was.At; got != whole+gap {
				t.Errorf("carrier on for %d, want %d longer than %d", got, gap, whole)
			}
			if len(was.Pauses) != 1 || was.Pauses[0].Before <= 5 || was.Pauses[0].Before >= len(message) {
				t.Errorf("pauses %+v, want one behind the delimiter", was.Pauses)
			}
			if c.heard {
				one(t, message, heard, frame.Whole)
				return
			}
			fails(t, message, &heard[0].Event, frame.ErrGap)
		})
	}
}

func TestSwallowedPreamble(t *testing.T) {
	for swallowed, left := range map[float64]int{1: 4, 3: 2, 4: 1, 9: 0} {
		each(t, always("swallowed preamble", map[string]float64{"swallowed_chars": swallowed}), func(t *testing.T, message []byte, was *sent, heard []sim.Heard) {
			if want := message[5-left:]; !bytes.Equal(was.Chars, want) {
				t.Errorf("%g swallowed: sent %x, want %x", swallowed, was.Chars, want)
			}
			if got, want := was.Start(left), was.At+sim.CarrierLead+5*sim.Character; got != want {
				t.Errorf("%g swallowed: delimiter at %d, want %d as without", swallowed, got, want)
			}
			if left < 2 {
				if slices.ContainsFunc(heard, func(h sim.Heard) bool { return h.Event.Outcome == frame.Whole }) {
					t.Errorf("%g swallowed: heard %+v, want no frame", swallowed, heard)
				}
				return
			}
			if ev := one(t, message, heard, frame.Whole); ev.Preambles != left {
				t.Errorf("%g swallowed: %d preambles heard, want %d", swallowed, ev.Preambles, left)
			}
		})
	}
}

// strays wants the message whole and n characters of noise behind it.
func strays(t *testing.T, message []byte, heard []sim.Heard, n int64) {
	t.Helper()
	if len(heard) != 2 || heard[0].Event.Outcome != frame.Whole || heard[1].Event.Outcome != frame.Noise ||
		heard[1].Event.End-heard[1].Event.Start+int64(heard[1].Event.Preambles) != n {
		t.Fatalf("%x: heard %+v, want the frame and %d characters of noise", message, heard, n)
	}
}

func TestStrayCharacters(t *testing.T) {
	each(t, always("stray characters", map[string]float64{"stray_chars": 2}), func(t *testing.T, message []byte, was *sent, heard []sim.Heard) {
		strays(t, message, heard, 2)
		if !bytes.Equal(was.Chars[:len(message)], message) || was.Tail != sim.CarrierTail {
			t.Errorf("sent %x with tail %d, want %x and two more", was.Chars, was.Tail, message)
		}
	})
}

// The characters of which only the front is sent end in ones, as a line at mark
// has them, and in a parity bit of 1: wrong where the parity would be 0.
func TestHalfCharacter(t *testing.T) {
	var heads [9]int
	const runs = 300
	message, four := published(t)[0], 0
	for seed := range uint64(runs) {
		b := newBench(t, seed)
		b.add(always("half character", nil))
		strays(t, message, b.say("primary master", message), 1)
		was := b.log[0]
		half := was.Chars[len(message)]
		ones := bits.LeadingZeros8(^half)
		heads[8-ones]++
		if ones >= 4 {
			four++
		}
		wrong := len(was.Marks) == 1 && was.Marks[0] == frame.MarkAt{Pos: int64(len(message)), Mark: frame.Parity}
		if want := bits.OnesCount8(half)%2 == 1; wrong != want || len(was.Marks) > 1 {
			t.Errorf("half character %02x: marks %+v, want parity wrong: %t", half, was.Marks, want)
		}
		if off := was.Start(len(was.Chars)); was.Off() != off {
			t.Errorf("carrier off at %d, want %d, where the character ends", was.Off(), off)
		}
	}
	for n, k := range heads[:7] {
		if k == 0 {
			t.Errorf("none of the half characters has its last 0 behind %d bits", n)
		}
	}
	// Of 0 to 8 bits that are sent, up to four leave four ones; of more, those sent
	// beyond four must be ones by chance.
	binomial(t, "four ones at the end", four, runs, (5+1./2+1./4+1./8+1./16)/9)
}

func TestStuckCarrier(t *testing.T) {
	each(t, always("stuck carrier", map[string]float64{"stuck_s": 1.5}), func(t *testing.T, message []byte, was *sent, heard []sim.Heard) {
		one(t, message, heard, frame.Whole)
		if want := was.Start(len(message)) + sim.CarrierTail + 3*sim.Second/2; was.Off() != want {
			t.Errorf("carrier off at %d, want %d", was.Off(), want)
		}
	})
}

// Source: Texas Instruments application note SLAAER4 (Mar 2025), 3.4.8 table 3-8
// (carrier detect at 120 mV peak to peak, none at 80 mV).
func TestWeakSignal(t *testing.T) {
	for volts, want := range map[float64]int{0.079: 0, 0.121: 1} {
		each(t, always("weak signal", map[string]float64{"level_v": volts}), func(t *testing.T, _ []byte, was *sent, heard []sim.Heard) {
			if len(heard) != want || was.Level != float32(volts) {
				t.Errorf("%g V: heard %d messages, want %d", volts, len(heard), want)
			}
		})
	}
}

// What needs a frame leaves alone what is none, and does not count it.
func TestFaultsOfFramesNeedOne(t *testing.T) {
	for _, kind := range []string{"gap inside a frame", "swallowed preamble", "wrong byte count", "wrong check byte", "wrong address", "stray characters"} {
		f := always(kind, nil)
		f.Count = 1
		set, seat := alone(t, 1, f)
		noise := []byte{0xff, 0xff, 0xff, 0x13, 0x02}
		if got := set.Send(0, seat, burst(0, noise)); !bytes.Equal(got.Chars, noise) || len(got.Pauses)+len(got.Marks) > 0 {
			t.Errorf("%s: made %+v of what is no frame", kind, got)
		}
		message := published(t)[0]
		if got := set.Send(0, seat, burst(0, message)); bytes.Equal(got.Chars, message) && len(got.Pauses) == 0 {
			t.Errorf("%s: the frame behind it was not struck", kind)
		}
	}
}

// Faults strike in the order in which they were added, each on what the one before
// has left: the address changes and the check byte fits, and then no more.
func TestFaultsCompose(t *testing.T) {
	message := published(t)[1]
	set, seat := alone(t, 1, always("wrong address", nil), always("wrong byte count", nil), always("stray characters", nil),
		always("swallowed preamble", nil))
	got := set.Send(0, seat, burst(0, message)).Chars
	if sum := checkSum(got[2 : len(got)-1]); sum != 0 || len(got) != len(message)-3+1 {
		t.Errorf("sent %x, want two preambles, a frame whose check byte fits, and a stray character", got)
	}
	set, seat = alone(t, 1, always("wrong check byte", nil), always("wrong address", nil))
	got = set.Send(0, seat, burst(0, message)).Chars
	if checkSum(got[5:]) == 0 {
		t.Errorf("sent %x, whose check byte fits again", got)
	}
}

// The burst of the talker stays as it is: it may send it again.
func TestTalkersBurstIsLeftAlone(t *testing.T) {
	message := published(t)[0]
	b := burst(0, slices.Clone(message))
	b.Marks = []frame.MarkAt{{Pos: 2, Mark: frame.Parity}}
	for _, k := range kinds {
		if k.message == nil {
			continue
		}
		set, seat := alone(t, 1, always(k.Name, nil))
		set.Send(0, seat, b)
		if !bytes.Equal(b.Chars, message) || b.Lead != sim.CarrierLead || b.Tail != sim.CarrierTail || b.Level != 0 ||
			len(b.Marks) != 1 || len(b.Pauses) != 0 {
			t.Errorf("%s changed the talker's own burst: %+v", k.Name, b)
		}
	}
}

func TestFaultStrikesItsTalkerOnly(t *testing.T) {
	message := published(t)[0]
	for _, c := range []struct {
		fault Fault
		want  []bool // primary master, secondary master, PT-1, PT-2
	}{
		{Fault{Kind: "wrong check byte", Probability: 1}, []bool{true, true, true, true}},
		{Fault{Kind: "wrong check byte", Probability: 1, Talker: "secondary master"}, []bool{false, true, false, false}},
		{Fault{Kind: "wrong check byte", Probability: 1, Talker: "PT-2"}, []bool{false, false, false, true}},
		{Fault{Kind: "wrong check byte", Probability: 1, Device: "PT-1"}, []bool{false, false, true, false}},
		{Fault{Kind: "bit errors", Probability: 1, Talker: Host}, []bool{false, false, false, false}},
	} {
		b := newBench(t, 1, "PT-1", "PT-2")
		b.add(c.fault)
		primary, secondary := b.line.Join(&tape{}), b.line.Join(&tape{})
		primary.Name, secondary.Name = "primary master", "secondary master"
		for i, seat := range []*sim.Seat{primary, secondary, b.seats[0], b.seats[1]} {
			own := burst(0, message)
			if got := b.set.Send(0, seat, own) != own; got != c.want[i] {
				t.Errorf("%+v: %s is struck: %t, want %t", c.fault, seat.Name, got, c.want[i])
			}
		}
	}
}

// Over many seeds a gap stands at each place behind the delimiter, and a wrong
// address differs in each of its bits, never in the two flags above them.
func TestPlacesAreLeftToChance(t *testing.T) {
	long := append(frame.AppendPreambles(nil, 5), 0x82, 0xbe, 0x02, 0x0c, 0x77, 0x37, 0x01, 0x00, 0x00)
	long[13] = checkSum(long[5:13])
	for _, message := range [][]byte{published(t)[0], long} {
		gaps, flipped := map[int]bool{}, map[int]bool{}
		for seed := range uint64(1000) {
			set, seat := alone(t, seed, always("gap inside a frame", nil), always("wrong address", nil))
			got := set.Send(0, seat, burst(0, message))
			gaps[got.Pauses[0].Before] = true
			for i, c := range got.Chars[:len(message)-1] {
				if changed := c ^ message[i]; changed != 0 {
					flipped[i*8+7-bits.TrailingZeros8(changed)] = true
				}
			}
		}
		first, last := 6*8+2, 6*8+7
		if message[5]&0x80 != 0 {
			last = 10*8 + 7
		}
		for bit := range len(message) * 8 {
			if want := bit >= first && bit <= last; flipped[bit] != want {
				t.Errorf("%x: bit %d of byte %d is changed: %t", message, bit%8, bit/8, flipped[bit])
			}
		}
		for i := range message {
			if want := i > 5; gaps[i] != want {
				t.Errorf("%x: a gap in front of byte %d: %t", message, i, gaps[i])
			}
		}
	}
}

// The places of the frame move with what is put in and taken out.
func TestMessageKeepsItsPlaces(t *testing.T) {
	chars := append(frame.AppendPreambles(nil, 5), 0x02, 0x80, 0x01, 0x00, 0x83)
	b := burst(0, chars)
	b.Pauses = []sim.Pause{{Before: 7, For: sim.Bit}}
	b.Marks = []frame.MarkAt{{Pos: 7, Mark: frame.Gap | frame.Parity}}
	set, _ := alone(t, 1)
	places := func(m *message, delimiter, check int, framed bool) {
		t.Helper()
		if m.delimiter != delimiter || m.check != check || m.framed != framed {
			t.Errorf("delimiter %d, check byte %d, framed %t, want %d, %d, %t", m.delimiter, m.check, m.framed, delimiter, check, framed)
		}
	}
	m := set.open(b)
	places(m, 5, 9, true)
	m.insert(6, cell{value: 0x80})
	places(m, 5, 10, true)
	m.insert(0, cell{value: 0xff})
	places(m, 6, 11, true)
	m.remove(0)
	m.remove(6)
	places(m, 5, 9, true)
	m.remove(7)
	places(m, 5, 8, true)
	if c := m.cells[7]; c != (cell{pause: sim.Bit, value: 0, mark: frame.Gap}) {
		t.Errorf("behind what was taken out %+v, want its pause and gap and not its parity", c)
	}
	m.remove(8)
	if m.framed {
		t.Error("a message without its check byte is one frame")
	}
	m = set.open(b)
	if m.remove(5); m.framed {
		t.Error("a message without its delimiter is one frame")
	}
	m = set.open(b)
	doubleCharacters(newActive(always("doubled characters", map[string]float64{"doubling_rate": 1}), find("doubled characters"), 1), m)
	if m.cells[14].mark != frame.Gap|frame.Parity || m.cells[15] != (cell{value: 0x01, mark: frame.Parity}) {
		t.Errorf("doubled: %+v and %+v, want the gap in front of the first only", m.cells[14], m.cells[15])
	}
}

// A count that cannot be smaller is not struck.
func TestCountThatStaysRight(t *testing.T) {
	f := always("wrong byte count", map[string]float64{"count_off_bytes": -3})
	f.Count = 1
	set, seat := alone(t, 1, f)
	for i, m := range [][]byte{{0xff, 0xff, 0x02, 0x80, 0x00, 0x00, 0x82}, {0xff, 0xff, 0x02, 0x80, 0x21, 0x04, 0x00, 0x01, 0x02, 0x03, 0xa7}} {
		if got := set.Send(0, seat, burst(0, m)).Chars; bytes.Equal(got, m) != (i == 0) {
			t.Errorf("%x is sent as %x", m, got)
		}
	}
}
