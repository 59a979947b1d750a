package sim

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"looptone/frame"
)

// ghost is the name of a station that is across the supply: it hears nobody, and nobody
// hears it.
const ghost = "ghost"

func aGhost(talker, listener *Seat) float32 {
	if talker.Name == ghost || listener != nil && listener.Name == ghost {
		return 0
	}
	return 1
}

func allOfIt(_, _ *Seat) float32 { return 1 }

// byName gives shares by the names of talker and listener; "" stands for where hosts are.
func byName(shares map[[2]string]float32) func(talker, listener *Seat) float32 {
	return func(talker, listener *Seat) float32 {
		name := ""
		if listener != nil {
			name = listener.Name
		}
		if share, ok := shares[[2]string{talker.Name, name}]; ok {
			return share
		}
		return 1
	}
}

// seated is a line with stations of these names.
func seated(share func(talker, listener *Seat) float32, names []string, stations ...Station) *Line {
	l := NewLine(1)
	l.Levels(share)
	for i, s := range stations {
		l.Join(s).Name = names[i]
	}
	return l
}

// Where all reaches all, nothing is other than without levels.
func TestAllOfItIsAsWithoutLevels(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		seed := rapid.Uint64().Draw(rt, "seed")
		without, with := play(t, random(seed), nil), play(t, random(seed), allOfIt)
		if without != with {
			rt.Fatalf("without levels -, with them +:\n%s", cmp.Diff(strings.Split(without, "\n"), strings.Split(with, "\n")))
		}
	})
}

// Whatever somebody does whom nobody hears, the others do not notice, nor does he notice
// them: he has bursts, and characters that come in from outside.
func TestGhost(t *testing.T) {
	talked := int64(0)
	rapid.Check(t, func(rt *rapid.T) {
		seed := rapid.Uint64().Draw(rt, "seed")
		alone := play(t, random(seed), aGhost)

		haunted := stage(t, random(seed), aGhost)
		its := &scene{T: t, pick: random(seed + 1), line: haunted.line}
		p := &port{}
		for i := range Tick(20) {
			b := its.burst()
			b.At += i * 30 * Character
			p.bursts = append(p.bursts, b)
		}
		seat := haunted.line.Join(p)
		seat.Name = ghost
		haunted.haunt = func() {
			chars := its.chars()
			haunted.line.Arrive(seat, haunted.line.Now(), chars[:its.pick(len(chars))], nil)
		}
		if got := haunted.play(); got != alone {
			rt.Fatalf("without the ghost -, with it +:\n%s", cmp.Diff(strings.Split(alone, "\n"), strings.Split(got, "\n")))
		}
		if len(p.heard)+len(p.told) > 0 {
			rt.Fatalf("the ghost heard %+v, and was told %+v", p.heard, p.told)
		}
		talked += seat.Sent()
	})
	if talked < 10_000 {
		t.Errorf("the ghosts said %d characters in all", talked)
	}
}

// Source: Texas Instruments application note SLAAER4 (Mar 2025), 3.4.8 table 3-8
// (carrier detect at 120 mV peak to peak, none at 80 mV).
func TestLevelsAtWhichTonesAreHeard(t *testing.T) {
	for _, c := range []struct {
		burst, share float32
		heard        bool
	}{
		{0, 1, true}, {0, 0.24, true}, {0, 0.16, false}, {0, 0.01, false}, {0, 0, false},
		{1, 0.13, true}, {1, 0.079, false}, {0.24, 0.51, true}, {0.24, 0.33, false}, {0.05, 3, true}, // a weak burst is weaker still
	} {
		near, far := &port{}, &port{}
		l := seated(byName(map[[2]string]float32{{"talker", "far"}: c.share}), []string{"talker", "near", "far"},
			&tape{bursts: []*Burst{{At: Second, Level: c.burst, Chars: message(t, 5, request)}}}, near, far)
		near.bursts = []*Burst{{At: 3 * Second, Chars: message(t, 5, reply)}} // the line is good again
		l.Run(5 * Second)
		want := 0
		if c.heard {
			want = 1
		}
		on, off := far.carriers()
		if got := len(far.events()) - 1; got != want || len(on)-1 != want || len(off)-1 != want || len(far.told)-1 != want {
			t.Errorf("%g V, and %g of it: %d events, %d carriers on, %d off, told %d times, want %d", c.burst, c.share, got, len(on)-1, len(off)-1, len(far.told)-1, want)
		}
		if c.burst == 0 && len(near.events()) != 1 {
			t.Errorf("%g of it far away: heard %d events near by, want 1", c.share, len(near.events()))
		}
	}
}

// Between the levels it is left to chance, for each listener by itself; carrier and
// characters share one lot.
func TestBetweenTheLevels(t *testing.T) {
	const bursts = 2000
	for _, c := range []struct {
		share    float32
		expected float64
	}{{0.18, 0.25}, {0.2, 0.5}, {0.22, 0.75}} {
		talker, a, b := &tape{}, &port{}, &port{}
		for i := range Tick(bursts) {
			talker.bursts = append(talker.bursts, &Burst{At: (i + 1) * Second, Chars: message(t, 5, request)})
		}
		l := seated(byName(map[[2]string]float32{{"talker", "a"}: c.share, {"talker", "b"}: c.share}), []string{"talker", "a", "b", ""}, talker, a, b, &tape{})
		l.Run((bursts + 1) * Second)
		heard := map[Tick]int{}
		for i, p := range []*port{a, b} {
			n := len(p.events())
			if on, off := p.carriers(); n != len(on) || n != len(off) || n != len(p.told) {
				t.Errorf("share %g: %d frames with %d carriers on and %d off, told %d times", c.share, n, len(on), len(off), len(p.told))
			}
			if bound := 4 * math.Sqrt(bursts*c.expected*(1-c.expected)); math.Abs(float64(n)-bursts*c.expected) > bound {
				t.Errorf("share %g: heard %d of %d, want %g ± %.0f", c.share, n, bursts, bursts*c.expected, bound)
			}
			for _, h := range p.events() {
				heard[h.Begin] |= 1 << i
			}
		}
		both, square := 0, c.expected*c.expected
		for _, who := range heard {
			both += who / 3
		}
		if bound := 4 * math.Sqrt(bursts*square*(1-square)); math.Abs(float64(both)-bursts*square) > bound {
			t.Errorf("share %g: both heard %d of %d, want %g ± %.0f", c.share, both, bursts, bursts*square, bound)
		}
	}
}

// Who comes in the middle of a burst has the same lot in it as if he had been there: it
// depends on his number alone.
func TestBetweenTheLevelsTheAnswerStays(t *testing.T) {
	weak := byName(map[[2]string]float32{{"talker", "late"}: 0.2})
	came := 0
	for i := range Tick(200) {
		hears := func(joins Tick) bool {
			late := &tape{}
			l := seated(func(talker, listener *Seat) float32 {
				if listener != nil && listener.Name == "" { // who has just come has no name yet
					return 0.2
				}
				return weak(talker, listener)
			}, []string{"talker", "near"}, &tape{bursts: []*Burst{{At: Second + i, Chars: message(t, 5, request)}}}, &tape{})
			l.Run(joins)
			l.Join(late).Name = "late"
			l.Run(2 * Second)
			on, _ := late.carriers()
			return len(on) == 1
		}
		before, amid := hears(0), hears(Second+3*Character)
		if before != amid {
			t.Errorf("burst at %d: heard %v, and %v by who came amid", Second+i, before, amid)
		}
		if before {
			came++
		}
	}
	if came < 60 || came > 140 {
		t.Errorf("heard %d of 200 bursts, want about half", came)
	}
}

// Who hears nothing of a carrier does not wait for its end; who hears it does.
func TestCarrierSenseOfWhoHearsNothing(t *testing.T) {
	for _, c := range []struct {
		share    float32
		overlaps bool
	}{{0.2, false}, {0.01, true}} {
		l := seated(byName(map[[2]string]float32{{"first", "second"}: c.share * 2}), []string{"first", "second", "third"},
			&polite{at: Second, chars: message(t, 5, request)}, &polite{at: Second + 3*Character, chars: message(t, 5, request)}, &tape{})
		log := spans(l)
		l.Run(5 * Second)
		if got := (*log)[1][0] < (*log)[0][1]; got != c.overlaps {
			t.Errorf("share %g: overlap %v, want %v", c.share*2, got, c.overlaps)
		}
	}
}

// A late carrier detect counts from the carrier that is heard, not from one before that is
// not; and that one does not keep it on.
func TestCarrierOfWhatIsHeardAlone(t *testing.T) {
	ear := &tape{}
	strong := &Burst{At: 2 * Second, Lead: 5 * Bit, Tail: 3 * Bit, Chars: message(t, 5, request)}
	l := seated(byName(map[[2]string]float32{{"weak", "ear"}: 0.1, {"weak", ""}: 0.1}), []string{"weak", "strong", "ear", ""},
		&tape{bursts: []*Burst{{At: Second, Tail: 5 * Second, Chars: message(t, 5, reply)}}}, &tape{bursts: []*Burst{strong}}, ear, &tape{})
	l.Seats()[2].DetectAfter(4 * Bit)
	l.Run(10 * Second)
	on, off := ear.carriers()
	if len(on) != 1 || len(off) != 1 || on[0] != 2*Second+4*Bit || off[0] != strong.Off() {
		t.Errorf("heard carriers from %d to %d, want from %d to %d", on, off, 2*Second+4*Bit, strong.Off())
	}
	if evs := ear.events(); len(evs) != 1 || evs[0].Event.Outcome != frame.Whole || evs[0].Begin != 2*Second+5*Bit {
		t.Errorf("heard %+v, want the strong one's request", evs)
	}
}

// What began in a carrier that does not reach a listener it does not hear, though another
// one that does is on when it ends.
func TestFrameOfWhatIsNotHeard(t *testing.T) {
	ear, near := &tape{}, &tape{}
	l := seated(byName(map[[2]string]float32{{"talker", "ear"}: 0, {"silent", ""}: 0.3}), []string{"talker", "silent", "ear", "near"},
		&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request)}}},
		&tape{bursts: []*Burst{{At: Second + 7*Character, Tail: Second}}}, ear, near)
	l.Run(5 * Second)
	evs := near.events()
	if len(evs) == 0 || evs[0].Event.Outcome != frame.Whole {
		t.Fatalf("near by, heard %+v, want the request", evs)
	}
	more := evs[1:] // the phase jumps where the talker's carrier goes off
	for where, evs := range map[string][]Heard{"near by, behind the request": more, "where only the silent one reaches": ear.events()} {
		if len(evs) > 1 || len(evs) == 1 && (evs[0].Event.Outcome != frame.Noise || evs[0].Event.End-evs[0].Event.Start > 1) {
			t.Errorf("%s: heard %+v, want a false character at the most", where, evs)
		}
	}
	if on, _ := ear.carriers(); !slices.Equal(on, []Tick{Second + 7*Character}) {
		t.Errorf("heard %+v, want the silent carrier alone", ear.heard)
	}
}

// What a second carrier spoils is heard from the beginning of the first one on, and a late
// carrier detect counts from there.
func TestSpoiltFromTheFirstCarrierOn(t *testing.T) {
	ear := &tape{}
	l := seated(allOfIt, []string{"first", "second", "ear"}, &tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, reply)}}},
		&tape{bursts: []*Burst{{At: Second + 7*Character + Bit/2, Chars: message(t, 5, request)}}}, ear)
	l.Seats()[2].DetectAfter(8 * Character)
	l.Run(5 * Second)
	evs := ear.events()
	if on, _ := ear.carriers(); len(evs) == 0 || evs[0].Event.Outcome != frame.Damaged || evs[0].Begin != Second || !slices.Equal(on, []Tick{Second + 8*Character}) {
		t.Errorf("heard %+v, carriers from %d on, want damage from %d on, and a carrier 8 characters later", evs, on, Second)
	}
}

// For who comes in the middle of a carrier, a late carrier detect counts from its beginning.
func TestLateCarrierDetectOfWhoComesAmid(t *testing.T) {
	late := &tape{}
	l := seated(allOfIt, []string{"talker", ""}, &tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request)}}}, &tape{})
	l.Run(Second + Bit)
	l.Join(late).DetectAfter(4 * Bit)
	l.Run(5 * Second)
	if on, _ := late.carriers(); !slices.Equal(on, []Tick{Second + 4*Bit}) {
		t.Errorf("a carrier is heard from %d on, want %d", on, Second+4*Bit)
	}
}

// Who is off the wires is nobody whom anything could reach.
func TestWhatReachesWhoIsOffTheWires(t *testing.T) {
	ear := &tape{}
	l := seated(byName(map[[2]string]float32{{"other", "ear"}: 0, {"other", "talker"}: 0}), []string{"talker", "other", "ear", "gone"},
		&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, reply)}}},
		&tape{bursts: []*Burst{{At: Second + 7*Character + Bit/2, Chars: message(t, 5, request)}}}, ear, &tape{})
	l.Seats()[3].Cut(true)
	l.Run(5 * Second)
	if evs := ear.events(); len(evs) != 1 || evs[0].Event.Outcome != frame.Whole {
		t.Errorf("heard %+v, want the reply", evs)
	}
}

// Who comes while two carriers are on notices the one from its beginning until both are
// off.
func TestWhoComesAmidTwoCarriers(t *testing.T) {
	late := &tape{}
	long := &Burst{At: Second, Tail: Second, Chars: message(t, 5, request)}
	l := seated(allOfIt, []string{"first", "second"}, &tape{bursts: []*Burst{long}},
		&tape{bursts: []*Burst{{At: Second + 2*Bit, Chars: message(t, 5, request)}}})
	l.Run(Second + 3*Bit)
	l.Join(late).DetectAfter(4 * Bit)
	l.Run(5 * Second)
	if on, off := late.carriers(); !slices.Equal(on, []Tick{Second + 4*Bit}) || !slices.Equal(off, []Tick{long.Off()}) {
		t.Errorf("carriers went on at %d, off at %d, want one from %d to %d", on, off, Second+4*Bit, long.Off())
	}
}

// Who comes amid what a port says notices that from its beginning, if it reaches him.
func TestWhoComesAmidAMessageOfAPort(t *testing.T) {
	for _, c := range []struct {
		share float32
		want  []Tick
	}{{1, []Tick{Second + 4*Bit}}, {0.1, nil}} {
		late := &tape{}
		l := seated(func(_, listener *Seat) float32 {
			if listener != nil && listener.Name == "" { // who has just come has no name yet
				return c.share
			}
			return 1
		}, []string{"port", "near"}, &port{}, &tape{})
		l.Run(Second)
		l.Arrive(l.Seats()[0], Second, message(t, 5, request)[:7], nil)
		l.Run(Second + Bit)
		l.Join(late).DetectAfter(4 * Bit)
		l.Run(2 * Second)
		if on, _ := late.carriers(); !slices.Equal(on, c.want) {
			t.Errorf("share %g: carriers went on at %d, want %d", c.share, on, c.want)
		}
	}
}

// A port is told of what reaches it alone, and what it sends reaches whom it reaches.
func TestPortsAndLevels(t *testing.T) {
	shares := map[[2]string]float32{{"port", "far"}: 0.1, {"far", "port"}: 0.1}
	p, near, far := &port{}, &tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, reply)}}}, &tape{bursts: []*Burst{{At: 2 * Second, Chars: message(t, 5, reply)}}}
	l := seated(byName(shares), []string{"port", "near", "far"}, p, near, far)
	l.Run(3 * Second)
	if len(p.told) != 1 || p.told[0].now != Second || len(p.events()) != 1 {
		t.Errorf("told %+v, heard %d events, want the near one's", p.told, len(p.events()))
	}
	if got := len(near.events()); got != 1 {
		t.Errorf("near by, %d events of the far one, want 1", got)
	}
	before := len(far.heard)
	req := message(t, 5, request)
	for i := range req {
		at := 4*Second + Tick(i)*Character
		l.Run(at)
		l.Arrive(l.Seats()[0], at, req[i:i+1], nil)
	}
	l.Run(6 * Second)
	if evs := near.events(); len(evs) != 2 || evs[1].Event.Outcome != frame.Whole {
		t.Errorf("near by, heard %+v, want the host's request", evs)
	}
	if len(far.heard) != before {
		t.Errorf("far away, heard %+v of the host", far.heard[before:])
	}
	late := &tape{}
	l.Arrive(l.Seats()[0], 6*Second, req[:7], nil)
	l.Join(late)
	l.Run(6*Second + Millisecond)
	l.Arrive(l.Seats()[0], 6*Second+Millisecond, req[7:], nil)
	l.Run(7 * Second)
	if on, off := late.carriers(); len(on) != 1 || len(off) != 1 {
		t.Errorf("who came amid heard a carrier go on at %d, off at %d, want one", on, off)
	}
}

// What a port expects of a carrier that reaches it ends with that one, whatever another
// one goes on to say.
func TestPortExpectsWhatReachesIt(t *testing.T) {
	p := &port{}
	heard := &Burst{At: Second + 6*Character, Lead: 5 * Bit, Tail: 3 * Bit, Chars: message(t, 5, request)}
	l := seated(byName(map[[2]string]float32{{"far", "port"}: 0.1, {"far", ""}: 0.1}), []string{"port", "near", "far"},
		p, &tape{bursts: []*Burst{heard}}, &tape{bursts: []*Burst{{At: Second, Chars: make([]byte, 50)}}})
	l.Run(3 * Second)
	if len(p.told) != 1 || p.told[0].off != heard.Off() || len(p.told[0].chars) == 0 {
		t.Fatalf("told %+v, want once, up to %d", p.told, heard.Off())
	}
	for _, c := range p.told[0].chars {
		if c.Start >= heard.Off() {
			t.Errorf("told of a character from %d on, when the carrier is off", c.Start)
		}
	}
}

// What a carrier spoils that does not reach a port, the port is told spoilt, as everybody
// else hears it whom the first carrier reaches.
func TestPortIsToldWhatIsSpoilt(t *testing.T) {
	near, far := &port{}, &port{}
	l := seated(byName(map[[2]string]float32{{"second", "far"}: 0.1}), []string{"first", "second", "near", "far"},
		&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, reply)}}},
		&tape{bursts: []*Burst{{At: Second + 7*Character + Bit/2, Chars: []byte{1, 2, 3, 4}}}}, near, far)
	l.Run(5 * Second)
	if len(near.told) != 2 || !cmp.Equal(far.told, near.told, cmp.AllowUnexported(expectation{})) {
		t.Errorf("near by, told %+v, far away %+v, want the same", near.told, far.told)
	}
}

// Between the levels a host's message is heard as a whole, or not at all, however it comes.
func TestMessageOfAPortHasOneLot(t *testing.T) {
	const messages = 400
	for name, share := range map[string]func(talker, listener *Seat) float32{
		"some hear it":         byName(map[[2]string]float32{{"port", "ear"}: 0.2}),
		"nobody else hears it": byName(map[[2]string]float32{{"port", "ear"}: 0.2, {"port", "near"}: 0}),
	} {
		ear := &tape{}
		l := seated(share, []string{"port", "ear", "near"}, &port{}, ear, &tape{})
		req := message(t, 5, request)
		for n := range Tick(messages) {
			for i := range req {
				at := (n+1)*Second + Tick(i)*Character
				l.Run(at)
				l.Arrive(l.Seats()[0], at, req[i:i+1], nil)
			}
		}
		l.Run((messages + 2) * Second)
		whole := 0
		for _, h := range ear.events() {
			if h.Event.Outcome != frame.Whole || h.Event.Preambles != 5 {
				t.Fatalf("%s: heard %+v, want whole messages", name, h)
			}
			whole++
		}
		if whole < messages/2-50 || whole > messages/2+50 {
			t.Errorf("%s: heard %d of %d messages, want about half", name, whole, messages)
		}
		if got := l.Seats()[0].Sent(); got != messages*int64(len(req)) {
			t.Errorf("%s: %d characters sent", name, got)
		}
	}
}

// Of two carriers at once the stronger one is heard, by their levels where hosts are: 12
// or 8 dB stronger, but not where they are as strong, or 0.5 dB apart.
func TestCaptureGoesByWhereHostsAre(t *testing.T) {
	for _, c := range []struct {
		share float32
		whole bool
	}{{1, false}, {0.95, false}, {0.4, true}, {0.25, true}} {
		ear := &tape{}
		l := seated(byName(map[[2]string]float32{{"other", ""}: c.share}), []string{"talker", "other", "ear"},
			&tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, reply)}}},
			&tape{bursts: []*Burst{{At: Second + 7*Bit/2, Chars: message(t, 5, "0680010700003941480000b0")}}}, ear)
		l.Run(5 * Second)
		evs := ear.events()
		if got := len(evs) > 0 && evs[0].Event.Outcome == frame.Whole; got != c.whole {
			t.Errorf("the other one at %g of its level: heard whole %v, want %v", c.share, got, c.whole)
		}
	}
}

// A master that is clipped on across the supply asks in vain, and another one does not
// notice it.
func TestTwoMastersOneAcrossTheSupply(t *testing.T) {
	polls := func(others ...*asker) (replies int, heard string) {
		l := NewLine(1)
		l.Levels(aGhost)
		master := respond(t, l, 3)
		ear := &port{}
		l.Join(master)
		l.Join(plain{ear})
		for _, m := range others {
			m.requests = master.requests
			l.Join(m).Name = ghost
		}
		l.Run(60 * Second)
		for _, h := range ear.events() {
			if h.Event.Outcome == frame.Whole && h.Event.Frame.Kind == frame.ACK {
				replies++
			}
		}
		var all strings.Builder
		ear.write(&all)
		return replies, all.String()
	}
	other := &asker{turn: Second / 3}
	replies, alone := polls()
	if _, both := polls(other); both != alone || replies < 100 || other.next < 100 {
		t.Errorf("%d replies, and %d requests of the other master; the same without it: %v", replies, other.next, both == alone)
	}
}

// An echo is what a station hears of itself inside, however little of it others hear.
func TestEchoAndLevels(t *testing.T) {
	talker := &port{tape: tape{bursts: []*Burst{{At: Second, Chars: message(t, 5, request)}}}}
	l := seated(byName(map[[2]string]float32{{"talker", "far"}: 0.01}), []string{"talker", "far", "near"}, talker, &tape{}, &tape{})
	l.Seats()[0].Echo(true)
	l.Run(3 * Second)
	if len(talker.events()) != 1 || len(talker.told) != 1 {
		t.Errorf("heard %+v, told %+v, want its own request", talker.events(), talker.told)
	}
	l.Arrive(l.Seats()[0], 3*Second, message(t, 5, request), nil)
	l.Run(5 * Second)
	if len(talker.events()) != 2 || len(talker.told) != 2 {
		t.Errorf("heard %+v, told %+v, want what came in from outside too", talker.events(), talker.told)
	}
}

// A change of levels is for the carriers that go on behind it.
func TestLevelsDoNotChangeWhatIsOn(t *testing.T) {
	ear := &tape{}
	l := seated(nil, []string{"talker", "ear"}, &tape{bursts: []*Burst{
		{At: Second, Chars: message(t, 5, request)}, {At: 2 * Second, Chars: message(t, 5, request)}, {At: 3 * Second, Chars: message(t, 5, request)}}}, ear)
	l.Run(Second + Character)
	l.Levels(byName(map[[2]string]float32{{"talker", "ear"}: 0}))
	l.Run(2*Second + Character)
	l.Levels(nil)
	l.Run(4 * Second)
	evs := ear.events()
	if len(evs) != 2 || evs[0].Begin != Second || evs[1].Begin != 3*Second {
		t.Errorf("heard %+v, want the first and the third request", evs)
	}
}
