package measure

import (
	"cmp"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/serialio/fsk"
)

// board says what samples are of in these tests: volts, across 500 ohm.
var board = Options{VoltsPerUnit: 1, Ohms: 500}

func measured(t *testing.T, g *signal, o Options) *Report {
	t.Helper()
	x, heard := g.samples()
	r, err := measure(&tape{g.rate, x}, &prompt{heard: heard, rate: g.rate}, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// A value is something measured, what it is by the formula of the signal, and how far off
// it may be.
type value struct {
	name      string
	got, want float64
	off       float64
}

func check(t *testing.T, values ...value) {
	t.Helper()
	for _, v := range values {
		if !(math.Abs(v.got-v.want) <= v.off) {
			t.Errorf("%s: got %v, want %v within %v", v.name, v.got, v.want, v.off)
		}
	}
}

// TestKnownFaults measures signals whose faults are known, and says which limits they
// break; all others are kept.
func TestKnownFaults(t *testing.T) {
	const bit = 1 / fsk.BitRate
	for _, c := range []struct {
		name   string
		change func(g *signal)
		values func(r *Report) []value
		broken []string
	}{
		{"none", func(g *signal) {}, func(r *Report) []value {
			return []value{
				{"mark", r.Mark.Hz.Mean, 1200, 0.01}, {"space", r.Space.Hz.Mean, 2200, 0.01},
				{"bit rate", r.BitRate.Mean, 1200, 0.01},
				{"mark p-p", r.Mark.Amplitude.Mean, 0.5, 1e-4}, {"space p-p", r.Space.Amplitude.Mean, 0.5, 1e-4},
				{"jump", r.Edges.LargestJump, 0, 0}, {"rms", r.Edges.RMS, 0, 1e-3},
				{"lead", r.Lead.Mean, 3, 0.03}, {"tail", r.Tail.Mean, 2, 0.03},
				{"preambles", r.Messages.Preambles.Least, 5, 0}, {"response", r.Messages.Response.Mean, 0.025, 1e-4},
				{"messages", float64(r.Messages.Whole), 2, 0}, {"carriers", float64(r.Carriers), 2, 0},
			}
		}, nil},
		{"tones 0.7 % off", func(g *signal) { g.mark, g.space = 1200*1.007, 2200*0.993 }, func(r *Report) []value {
			return []value{
				{"mark", r.Mark.Hz.Mean, 1208.4, 0.05}, {"space", r.Space.Hz.Mean, 2184.6, 0.05},
				{"bit rate", r.BitRate.Mean, 1200, 0.02}, {"jump", r.Edges.LargestJump, 0, 0},
			}
		}, nil},
		{"tones 1.2 % off", func(g *signal) { g.mark, g.space = 1200*0.988, 2200*1.012 }, func(r *Report) []value {
			return []value{{"mark", r.Mark.Hz.Mean, 1185.6, 0.05}, {"space", r.Space.Hz.Mean, 2226.4, 0.05}}
		}, []string{limitMark, limitSpace}},
		{"bit rate 1.5 % off", func(g *signal) { g.bitRate = 1218 }, func(r *Report) []value {
			return []value{{"bit rate", r.BitRate.Mean, 1218, 0.02}, {"mark", r.Mark.Hz.Mean, 1200, 0.05}}
		}, []string{limitBitRate}},
		{"a jump of 30°", func(g *signal) { g.jump = 30 }, func(r *Report) []value {
			return []value{
				{"rms", r.Edges.JumpRMS, 30, 3.8}, {"largest", r.Edges.LargestJump, 30, 3.8}, // half a sample is 3.75°
				{"mark", r.Mark.Hz.Mean, 1200, 0.05}, {"grid", r.Edges.RMS, 0, 0.013},
			}
		}, []string{limitPhase}},
		{"jitter of 3 %", func(g *signal) { g.jitter = 0.03 }, func(r *Report) []value {
			return []value{{"rms", r.Edges.RMS, 0.03, 0.004}, {"jump", r.Edges.JumpRMS, 0, 0.1}}
		}, nil},
		{"jitter of 8 %", func(g *signal) { g.jitter = 0.08 }, func(r *Report) []value {
			return []value{{"rms", r.Edges.RMS, 0.08, 0.01}, {"jump", r.Edges.JumpRMS, 0, 0.1}}
		}, []string{limitBits}},
		{"100 mV", func(g *signal) { g.peaks = 0.1 }, func(r *Report) []value {
			return []value{{"mark p-p", r.Mark.Amplitude.Mean, 0.1, 1e-4}}
		}, []string{limitAmplitude, limitCurrent}},
		{"spaces at half the amplitude", func(g *signal) { g.spaces = 0.22 }, func(r *Report) []value {
			return []value{{"mark p-p", r.Mark.Amplitude.Mean, 0.5, 1e-3}, {"space p-p", r.Space.Amplitude.Mean, 0.22, 1e-3}}
		}, []string{limitCurrent}},
		{"2 mA", func(g *signal) { g.peaks = 1 }, func(r *Report) []value {
			return []value{{"mA", r.Devices.Mean / 500 * 1000, 2, 1e-3}}
		}, nil},
		{"2.3 mA", func(g *signal) { g.peaks = 1.15 }, func(r *Report) []value {
			return []value{{"mA", r.Devices.Mean / 500 * 1000, 2.3, 1e-3}}
		}, []string{limitCurrent}},
		{"a lead of 9 bits", func(g *signal) { g.carriers[0].lead = 9 }, func(r *Report) []value {
			return []value{{"lead", r.Lead.Most, 9, 0.03}, {"shortest", r.Lead.Least, 3, 0.03}}
		}, []string{limitLead}},
		{"a tail of 8 bits", func(g *signal) { g.carriers[1].tail = 8 }, func(r *Report) []value {
			return []value{{"tail", r.Tail.Most, 8, 0.03}}
		}, []string{limitTail}},
		{"a slow rise", func(g *signal) {
			g.carriers, g.rise = g.carriers[:1], 10*bit
			g.carriers[0].lead = 14
		}, func(r *Report) []value {
			return []value{{"rise", r.Rise.Mean, 8, 0.3}, {"lead", r.Lead.Mean, 9, 0.3}}
		}, []string{limitLead, limitRise}},
		{"a gap of 14 bits", func(g *signal) { g.carriers[0].pause = map[int]float64{7: 14}; g.carriers[1].at += 14 / fsk.BitRate }, func(r *Report) []value {
			return []value{{"gap", r.Messages.LongestGap, 14, 0.01}, {"bit rate", r.BitRate.Mean, 1200, 0.02}, {"talking", r.Talking.In, 0, 1e-3}}
		}, []string{limitGaps, limitMessages}},
		{"a gap of 72 bits", func(g *signal) { g.carriers[0].pause = map[int]float64{8: 72}; g.carriers[1].at += 72 / fsk.BitRate }, func(r *Report) []value {
			return []value{{"gap", r.Messages.LongestGap, 72, 0.01}, {"talking", r.Talking.In, 0, 1e-3}, {"level", r.Under.Most, 0, 5e-3}}
		}, []string{limitGaps, limitMessages}},
		{"a fifth of a bit between all characters", func(g *signal) {
			g.carriers[0].pause = map[int]float64{1: .2, 2: .2, 3: .2, 4: .2, 5: .2, 6: .2, 7: .2, 8: .2, 9: .2}
		}, func(r *Report) []value {
			return []value{{"gap", r.Messages.LongestGap, 0.2, 0.01}, {"bit rate", r.BitRate.Mean, 1200, 0.02}}
		}, nil},
		{"three preambles", func(g *signal) { g.carriers[1].chars = reply[2:] }, func(r *Report) []value {
			return []value{{"least", r.Messages.Preambles.Least, 3, 0}, {"most", r.Messages.Preambles.Most, 5, 0}}
		}, []string{limitPreambles}},
		{"a wrong parity bit", func(g *signal) { g.carriers[0].wrongParity = 8 }, func(r *Report) []value {
			return []value{{"parity", float64(r.Messages.Parity), 1, 0}, {"damaged", float64(r.Messages.Damaged), 1, 0}, {"jump", r.Edges.JumpRMS, 0, 0}}
		}, []string{limitParity, limitMessages}},
		{"a reply behind 300 ms", func(g *signal) {
			g.carriers[1].at += 0.275
			g.end = 1
		}, func(r *Report) []value {
			return []value{{"response", r.Messages.Response.Mean, 0.3, 1e-4}}
		}, []string{limitResponse}},
		{"noise of 5 mV", func(g *signal) { g.noise = 0.005 }, func(r *Report) []value {
			// White noise is spread evenly up to half the rate of the samples.
			in, above := 0.005*math.Sqrt(9500./24000), 0.005*math.Sqrt(14000./24000)
			return []value{
				{"silent in", r.Silent.In, in, in * 0.05}, {"silent above", r.Silent.Above, above, above * 0.05},
				{"talking in", r.Talking.In, in, in * 0.1}, {"talking above", r.Talking.Above, above, above * 0.1},
				{"mark p-p", r.Mark.Amplitude.Mean, 0.5, 2e-3}, {"rms", r.Edges.RMS, 0, 5e-3}, {"jump", r.Edges.LargestJump, 0, 0},
			}
		}, []string{limitInBand}},
		{"a loop current that swings 32 times as far", func(g *signal) { g.dc, g.sway = 6, 16 }, func(r *Report) []value {
			return []value{
				{"mark", r.Mark.Hz.Mean, 1200, 0.1}, {"space", r.Space.Hz.Mean, 2200, 0.1}, {"bit rate", r.BitRate.Mean, 1200, 0.1},
				{"mark p-p", r.Mark.Amplitude.Mean, 0.5, 2e-3}, {"jump", r.Edges.LargestJump, 0, 0}, {"rms", r.Edges.RMS, 0, 2e-3},
				{"least under", r.Under.Least, -2, 0.05}, {"most under", r.Under.Most, 14, 0.05},
			}
		}, []string{limitBeside}},
		{"characters heard a fifth of a bit off", func(g *signal) { g.heardLate = 0.2 }, func(r *Report) []value {
			return []value{{"bit rate", r.BitRate.Mean, 1200, 0.01}, {"rms", r.Edges.RMS, 0, 1e-3}, {"lead", r.Lead.Mean, 3, 0.03}}
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := turn()
			c.change(g)
			r := measured(t, g, board)
			check(t, c.values(r)...)
			if r.Doubtful != r.Messages.Parity {
				t.Errorf("%d characters are doubtful, and %d have a wrong parity bit", r.Doubtful, r.Messages.Parity)
			}
			var broken []string
			for _, v := range r.Verdicts() {
				switch v.Finding {
				case Broken:
					broken = append(broken, v.Name)
				case NotMeasurable:
					if v.Name != limitCurrent && v.Name != limitResponse && v.Name != limitPhase {
						t.Errorf("%s is not measurable: %s", v.Name, v.Says)
					}
				}
			}
			slices.Sort(broken)
			want := slices.Sorted(slices.Values(c.broken))
			if !slices.Equal(broken, want) {
				t.Errorf("broken are %q, want %q", broken, want)
			}
		})
	}
}

// TestMisheard: characters that are not what was sent, or come with a mark, do not spoil
// what is measured of the others.
func TestMisheard(t *testing.T) {
	g := turn()
	x, heard := g.samples()
	heard[9].Char ^= 0x18  // two bits, so that the parity stays
	heard[20].Char ^= 0x81 // the first edge of a bit goes, too
	heard[14].Mark = frame.Framing
	r, err := measure(&tape{g.rate, x}, &prompt{heard: heard, rate: g.rate}, board)
	if err != nil {
		t.Fatal(err)
	}
	check(t, value{"doubtful", float64(r.Doubtful), 3, 0}, value{"most off", r.Edges.StartStop, 0, 0.01}, value{"rms", r.Edges.RMS, 0, 0.005},
		value{"bit rate", r.BitRate.Mean, 1200, 1}, value{"mark", r.Mark.Hz.Mean, 1200, 0.2}, value{"space", r.Space.Hz.Mean, 2200, 2})
}

// TestRates: the same at every rate, whether or not it is a multiple of 1200.
func TestRates(t *testing.T) {
	for _, rate := range []float64{8000, 9600, 11025, 19200, 44100, 96000, 192000, 500000} {
		g := turn()
		g.rate, g.mark, g.space, g.bitRate = rate, 1206, 2211, 1206
		r := measured(t, g, board)
		sample := fsk.BitRate / min(rate, enoughRate) // in bits
		check(t,
			value{"mark", r.Mark.Hz.Mean, 1206, 0.05}, value{"space", r.Space.Hz.Mean, 2211, 0.05},
			value{"bit rate", r.BitRate.Mean, 1206, 0.05},
			value{"mark p-p", r.Mark.Amplitude.Mean, 0.5, 1e-3}, value{"space p-p", r.Space.Amplitude.Mean, 0.5, 1e-3},
			value{"jump", r.Edges.JumpRMS, 0, 0}, value{"rms", r.Edges.RMS, 0, 1e-3},
			value{"lead", r.Lead.Mean, 3, sample + 0.02}, value{"tail", r.Tail.Mean, 2, sample + 0.02})
		if t.Failed() {
			t.Fatalf("at %v samples a second", rate)
		}
	}
}

// TestFilters: a cable and a coupling take from the amplitudes what the formulas of their
// filters say, and blur edges; but no jump of the phase is seen where there is none, and
// the bits stay where they are.
func TestFilters(t *testing.T) {
	for _, c := range []fsk.Channel{{RC: 65e-6}, {HighPass: 500}, {RC: 65e-6, HighPass: 300}, {RC: 65e-6, HighPass: 500}} {
		for _, rate := range []float64{48000, 192000} {
			g := turn()
			g.rate = rate
			x, heard := g.samples()
			through := c
			through.Rate = rate
			through.Pass(x)
			r, err := measure(&tape{rate, x}, &prompt{heard: heard, rate: rate}, board)
			if err != nil {
				t.Fatal(err)
			}
			passes := func(hz float64) float64 {
				return 1 / math.Hypot(1, 2*math.Pi*hz*c.RC) / math.Hypot(1, c.HighPass/hz)
			}
			check(t,
				value{"mark p-p", r.Mark.Amplitude.Mean, 0.5 * passes(1200), 0.006},
				value{"space p-p", r.Space.Amplitude.Mean, 0.5 * passes(2200), 0.006},
				value{"mark", r.Mark.Hz.Mean, 1200, 0.2}, value{"space", r.Space.Hz.Mean, 2200, 0.5},
				value{"bit rate", r.BitRate.Mean, 1200, 0.7}, value{"grid", r.Edges.RMS, 0, 0.006},
				value{"jump", r.Edges.JumpRMS, 0, 2})
			for _, v := range r.Verdicts() {
				if v.Name == limitPhase && v.Finding == Broken {
					t.Errorf("%s: %s", v.Name, v.Says)
				}
			}
			if t.Failed() {
				t.Fatalf("through %+v at %v samples a second", c, rate)
			}
		}
	}
}

// TestWithoutVolts: what takes volts is not measurable, and never kept.
func TestWithoutVolts(t *testing.T) {
	for _, o := range []Options{{}, {VoltsPerUnit: 1}} {
		r := measured(t, turn(), o)
		for _, v := range r.Verdicts() {
			takes := v.Name == limitCurrent || o.VoltsPerUnit == 0 && slices.Contains([]string{limitAmplitude, limitInBand, limitBeside}, v.Name)
			if takes != (v.Finding == NotMeasurable) {
				t.Errorf("%+v: %s is %v: %s", o, v.Name, v.Finding, v.Says)
			}
		}
	}
}

// TestNoisyEnds: noise of Eb/N0 14 dB moves the ends of carriers, which no sender is blamed
// for, and hides how fast they are; what is far off is still seen.
func TestNoisyEnds(t *testing.T) {
	for bits, want := range map[float64][2]Finding{3: {Kept, Kept}, 4.9: {Kept, NotMeasurable}, 5: {Kept, NotMeasurable}, 5.3: {NotMeasurable, NotMeasurable}, 9: {Broken, Broken}} {
		g := turn()
		g.noise = 0.157 // waveform of 0.25 V: 0.158 · 2.5 · 10^(-8/20)
		for i := range g.carriers {
			g.carriers[i].lead, g.carriers[i].tail = bits, bits
		}
		for _, v := range measured(t, g, board).Verdicts() {
			switch v.Name {
			case limitLead, limitTail:
				if v.Finding != want[0] && v.Finding != want[1] {
					t.Errorf("%v bits: %s is %v: %s", bits, v.Name, v.Finding, v.Says)
				}
			case limitRise, limitDecay:
				if v.Finding != NotMeasurable || v.Says != "noise hides how fast carriers go on and off" {
					t.Errorf("%s is %v: %s", v.Name, v.Finding, v.Says)
				}
			}
		}
	}
}

// TestAverage against its definition.
func TestAverage(t *testing.T) {
	for _, n := range []int{1, 2, 3, 7, 8, 40} {
		x, got := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = math.Sin(float64(i * i))
		}
		average(got, x, 3)
		for i := range x {
			h, want := min(3, i, n-1-i), 0.0
			for k := i - h; k <= i+h; k++ {
				want += x[k] / float64(2*h+1)
			}
			check(t, value{"average", got[i], want, 1e-12})
		}
	}
}

// TestAnotherInThePause: one carrier to the ear, but in the pause another phase begins. What
// is between the two is not known, and no noise.
func TestAnotherInThePause(t *testing.T) {
	g := turn()
	first, second := &g.carriers[0], &g.carriers[1]
	first.tail, second.lead = 13.3, 13
	second.at = first.at + (3+110+13.3)/fsk.BitRate
	x, heard := g.samples()
	events := 0
	heard = slices.DeleteFunc(heard, func(h fsk.Heard) bool {
		if h.Carrier != 0 {
			events++
		}
		return h.Carrier != 0 && (events == 2 || events == 3)
	})
	r, err := measure(&tape{g.rate, x}, &prompt{heard: heard, rate: g.rate}, board)
	if err != nil {
		t.Fatal(err)
	}
	check(t, value{"carriers", float64(r.Carriers), 1, 0}, value{"talking", r.Talking.In, 0, 0.005})
}

// TestSignalCurrentSources: published currents differ, and between them the verdict says so.
func TestSignalCurrentSources(t *testing.T) {
	for mA, wants := range map[float64]bool{1: false, 1.2: true, 2: true} {
		g := turn()
		g.peaks = mA * board.Ohms / 1000
		for _, v := range measured(t, g, board).Verdicts() {
			if v.Name != limitCurrent {
				continue
			}
			if says := strings.Contains(v.Says, "500 mV across 250 ohm"); v.Finding != Kept || says != wants {
				t.Errorf("%v mA: %v: %s", mA, v.Finding, v.Says)
			}
		}
	}
}

// TestVerdictsAreOfAllLimits, in their order, each with its source.
func TestVerdictsAreOfAllLimits(t *testing.T) {
	verdicts := measured(t, turn(), board).Verdicts()
	if len(verdicts) != len(Limits) {
		t.Fatalf("%d verdicts of %d limits", len(verdicts), len(Limits))
	}
	for i, v := range verdicts {
		if v.Limit != Limits[i] || v.Source == "" || v.Says == "" {
			t.Errorf("verdict %d is %+v, want one of %q", i, v, Limits[i].Name)
		}
	}
}

// TestLongCarrier: a carrier that stays on for long, with long silence in it, is measured
// part by part, and no more of it is held.
func TestLongCarrier(t *testing.T) {
	g := turn()
	g.carriers = g.carriers[:1]
	c := &g.carriers[0]
	c.chars, c.pause = nil, map[int]float64{}
	for i := range 60 {
		if i%20 == 10 {
			c.pause[len(c.chars)] = 4 * fsk.BitRate
		}
		c.chars = append(c.chars, request...)
	}
	g.end, g.bitRate = 19, 1203
	all, _ := g.pieces() // the last one is none, and the first one begins without an edge
	x, heard := g.samples()
	m := newMeter(g.rate, &prompt{heard: heard, rate: g.rate}, board)
	most := 0
	for len(x) > 0 {
		n := min(len(x), 4096)
		m.take(x[:n])
		x, most = x[n:], max(most, len(m.x))
	}
	m.end()
	r, err := m.report()
	if err != nil {
		t.Fatal(err)
	}
	if held := float64(most) / g.rate; held > 5 {
		t.Errorf("%.1f s of samples were held", held)
	}
	check(t,
		value{"messages", float64(r.Messages.Whole), 60, 0}, value{"carriers", float64(r.Carriers), 1, 0},
		value{"bit rate", r.BitRate.Mean, 1203, 0.02}, value{"lead", r.Lead.Mean, 3, 0.03}, value{"tail", r.Tail.Mean, 2, 0.03},
		value{"rms", r.Edges.RMS, 0, 1e-3}, value{"edges", float64(r.Edges.Count), float64(len(all) - 2), 5})
	if r.Lead.N != 1 || r.Tail.N != 1 {
		t.Errorf("%d leads and %d tails of one carrier", r.Lead.N, r.Tail.N)
	}
}

// TestEye: a clean eye is open as wide as the correlation of the tones lets it, and noise
// closes it.
func TestEye(t *testing.T) {
	clean, g := measured(t, turn(), board), turn()
	g.noise = 0.08
	noisy := measured(t, g, board)
	// The tones are not orthogonal over a bit, and by how much they are not depends on the
	// phase: |sin(πh)/(πh)| = 0.19 with h = 1000/1200, and what there is at the sum of the
	// frequencies.
	check(t, value{"open", clean.Eye.Open, 2 * (1 - 0.19), 0.2})
	if !(noisy.Eye.Open < clean.Eye.Open-0.3) {
		t.Errorf("with noise it is open by %v, without by %v", noisy.Eye.Open, clean.Eye.Open)
	}
	var sum int64
	for _, n := range clean.Eye.Count {
		sum += n
	}
	if want := clean.Eye.Bits * int64(clean.Eye.Columns); sum < want*95/100 || sum > want {
		t.Errorf("%d counts of %d bits and %d columns", sum, clean.Eye.Bits, clean.Eye.Columns)
	}
}

// TestNothing: what is said where no character is.
func TestNothing(t *testing.T) {
	tone := func(hz, size, mean float64) []float32 {
		x := make([]float32, 24000)
		for n := range x {
			x[n] = float32(mean + size*math.Sin(2*math.Pi*hz*float64(n)/48000))
		}
		return x
	}
	for _, c := range []struct {
		x    []float32
		o    Options
		want string
	}{
		{nil, Options{}, "no character in the waveform: it has no samples"},
		{make([]float32, 48000), Options{}, "no character in the waveform: in 1 s it is at 0 and does not move"},
		{[]float32{1, 1, 1}, Options{}, "no character in the waveform: in 6.25e-05 s it is at 1 and does not move"},
		{tone(1200, 0.25, 0), Options{}, "no character in the waveform: in 0.5 s its mean is 0 and its level around that 0.177 rms, most of it at 1200 Hz"},
		{tone(50, 0.5, 2), Options{VoltsPerUnit: 2}, "no character in the waveform: in 0.5 s its mean is 4 V and its level around that 0.707 V rms, most of it at 50 Hz"},
	} {
		_, err := measure(&tape{48000, c.x}, &prompt{rate: 48000}, c.o)
		var nothing *Nothing
		if !errors.As(err, &nothing) || strings.ReplaceAll(err.Error(), "is -0 ", "is 0 ") != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}

// TestCarrierAlone: a tone without characters is none of them.
func TestCarrierAlone(t *testing.T) {
	_, err := measure(&tape{48000, make([]float32, 100)}, &prompt{heard: []fsk.Heard{{At: 0, Carrier: 1}}, rate: 48000}, Options{})
	var nothing *Nothing
	if !errors.As(err, &nothing) || nothing.Carriers != 1 {
		t.Errorf("got %v", err)
	}
}

// TestAnythingHeard: whatever an ear says of whatever samples, nothing breaks.
func TestAnythingHeard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]float64{8000, 9600, 44100, 200000}).Draw(t, "rate")
		seconds := rapid.Float64Range(0, 0.3)
		heard := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) fsk.Heard {
			return fsk.Heard{
				At: seconds.Draw(t, "at")*1.4 - 0.05, Known: seconds.Draw(t, "known"), Bit: rapid.SampledFrom([]float64{0, 1. / 1200, 1. / 1100, 5, -1, math.NaN()}).Draw(t, "bit"),
				Char: rapid.Byte().Draw(t, "char"), Mark: rapid.SampledFrom([]frame.Mark{0, 0, 0, frame.Parity, frame.Framing}).Draw(t, "mark"),
				Carrier: rapid.SampledFrom([]int8{0, 0, 0, 0, 1, -1}).Draw(t, "carrier"),
			}
		}), 0, 30).Draw(t, "heard")
		if rapid.Bool().Draw(t, "in order") {
			slices.SortFunc(heard, func(a, b fsk.Heard) int { return cmp.Compare(a.At, b.At) })
		}
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		x := make([]float32, int(rate*seconds.Draw(t, "length")))
		for i := range x {
			x[i] = float32(random.NormFloat64())
		}
		r, err := measure(&tape{rate, x}, &prompt{heard: heard, rate: rate}, board)
		var nothing *Nothing
		if err != nil {
			if !errors.As(err, &nothing) {
				t.Fatal(err)
			}
			return
		}
		for _, v := range r.Verdicts() {
			if v.Unit != "" && (math.IsNaN(v.Got) || math.IsInf(v.Got, 0)) || strings.Contains(v.Says, "NaN") {
				t.Fatalf("%+v", v)
			}
		}
	})
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct {
		rate float64
		o    Options
		want string
	}{
		{4000, Options{}, "4000 samples a second are too few for tones of 2200 Hz: want 8000 or more"},
		{math.NaN(), Options{}, "NaN samples a second are too few for tones of 2200 Hz: want 8000 or more"},
		{48000, Options{VoltsPerUnit: -1}, "volts per unit: got -1, want more than 0"},
		{48000, Options{VoltsPerUnit: 1, Ohms: math.Inf(1)}, "resistance in ohm: got +Inf, want more than 0"},
		{48000, Options{Ohms: 250}, "a current is reckoned from volts: the volts per unit are not known"},
	} {
		if _, err := Measure(&tape{rate: c.rate}, c.o); err == nil || err.Error() != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}
