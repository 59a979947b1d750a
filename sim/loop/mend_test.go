package loop

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A remedy is a sentence of a mend, and how a reader would follow it. Where it says at
// most or at least, x is what the reader chooses of what is allowed.
type remedy struct {
	says   *regexp.Regexp
	follow func(c *condition, x float64, words []string)
	less   float64 // the least that is chosen where it says at most; 0 where there is nothing to choose
	more   float64 // the most that is chosen where it says at least
	feeds  bool    // what it costs the devices the supply gives, also where nothing is said of it
}

func supplyAtLeast(c *condition, text string) {
	if text != "" {
		c.Supply.V = number(text)
	}
}

func number(text string) float64 {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(err)
	}
	return x
}

// keep parks some of the devices, the last ones, and takes the others away.
func keep(c *condition, n int) {
	from := len(c.Devices) - n
	c.Devices, c.now, c.worst = c.Devices[from:], c.now[from:], c.worst[from:]
	c.Host.Device = max(c.Host.Device-from, 0)
	c.park()
}

var remedies = []remedy{
	{says: regexp.MustCompile(`^a supply of at least ([\d.]+) V(?:, if the barrier allows it)?$`), more: 42,
		follow: func(c *condition, x float64, _ []string) { c.Supply.V = x }},
	{says: regexp.MustCompile(`^at most (\d+) devices, parked at 4 mA$`), less: 1,
		follow: func(c *condition, x float64, _ []string) { keep(c, int(x)) }},
	{says: regexp.MustCompile(`^one device only, parked at 4 mA$`),
		follow: func(c *condition, _ float64, _ []string) { keep(c, 1) }},
	{says: regexp.MustCompile(`^all devices parked at 4 mA$`),
		follow: func(c *condition, _ float64, _ []string) { keep(c, len(c.Devices)) }},
	{says: regexp.MustCompile(`^a resistor of at most (\d+) ohm$`), less: 230,
		follow: func(c *condition, x float64, _ []string) { c.ResistorOhm = x }},
	{says: regexp.MustCompile(`^a resistor of 250 ohm(?: with a supply of at least ([\d.]+) V(?:, if the barrier allows it)?| \(but then even 42 V are not enough for all devices\))?$`), feeds: true,
		follow: func(c *condition, _ float64, w []string) { c.ResistorOhm = 250; supplyAtLeast(c, w[1]) }},
	{says: regexp.MustCompile(`^a resistor of 250 ohm(?: with a supply of at least ([\d.]+) V(?:, if the barrier allows it)?| \(but then even 42 V are not enough for all devices\))?, and the host clipped across it$`), feeds: true,
		follow: func(c *condition, _ float64, w []string) {
			c.ResistorOhm, c.Host.At = 250, AcrossResistor
			supplyAtLeast(c, w[1])
		}},
	{says: regexp.MustCompile(`^the host clipped across the resistor$`),
		follow: func(c *condition, _ float64, _ []string) { c.Host.At = AcrossResistor }},
	{says: regexp.MustCompile(`^the host clipped across a device$`),
		follow: func(c *condition, _ float64, _ []string) {
			c.Host.At, c.Host.Device = AcrossDevice, len(c.Devices)-1
		}},
	{says: regexp.MustCompile(`^a barrier of at most (\d+) ohm$`), less: 0.1,
		follow: func(c *condition, x float64, _ []string) { c.BarrierOhm = x }},
	{says: regexp.MustCompile(`^(.+) \(([\d.]+) ohm\) taken out of the loop$`),
		follow: func(c *condition, _ float64, w []string) {
			i := slices.IndexFunc(c.Series, func(in Instrument) bool { return in.Name == w[1] && math.Abs(in.Ohm-number(w[2])) < 0.001 })
			c.Series = slices.Delete(c.Series, i, i+1)
		}},
	{says: regexp.MustCompile(`^at most (\d+) m of cable in all$`), less: 0.1,
		follow: func(c *condition, x float64, _ []string) {
			factor := x / c.LengthM()
			for i := range c.Cables {
				c.Cables[i].LengthM *= factor
			}
		}},
	{says: regexp.MustCompile(`^cable of at most ([\d.]+) ohm per km of one core(?: \((\d+) AWG\))?$`), less: 0.1,
		follow: func(c *condition, x float64, w []string) {
			if w[2] != "" {
				awg, _ := strconv.Atoi(w[2])
				x, _ = OhmPerKM(awg)
			}
			for i := range c.Cables {
				c.Cables[i].OhmPerKM = x
			}
		}},
	{says: regexp.MustCompile(`^thicker cables, with at most (\d+) % of the resistance$`), less: 1,
		follow: func(c *condition, x float64, _ []string) {
			for i := range c.Cables {
				c.Cables[i].OhmPerKM *= x / 100
			}
		}},
	{says: regexp.MustCompile(`^cable of at most (\d+) nF per km$`), less: 1,
		follow: func(c *condition, x float64, _ []string) {
			for i := range c.Cables {
				c.Cables[i].NFPerKM = x
			}
		}},
	{says: regexp.MustCompile(`^the two leads of (\S+) swapped(?: with a supply of at least ([\d.]+) V(?:, if the barrier allows it)?| \(but then even 42 V are not enough for all devices\))?$`), feeds: true,
		follow: func(c *condition, _ float64, w []string) {
			i := slices.IndexFunc(c.Devices, func(d Device) bool { return d.Name == w[1] })
			c.Devices[i].Reversed = false
			supplyAtLeast(c, w[2])
		}},
	{says: regexp.MustCompile(`^a supply that carries at least (\d+) mA$`), more: 10000,
		follow: func(c *condition, x float64, _ []string) { c.Supply.MostMA = x }},
	{says: regexp.MustCompile(`^a supply with at most (\d+) ohm for the tones$`), less: 0.1,
		follow: func(c *condition, x float64, _ []string) { c.Supply.Ohm = x }},
	{says: regexp.MustCompile(`^a host that gives at least ([\d.]+) V of tones across 250 ohm$`), more: 0.6,
		follow: func(c *condition, x float64, _ []string) { c.Host.V = x }},
	{says: regexp.MustCompile(`^(\S+) that gives at least ([\d.]+) V of tones across 250 ohm$`),
		follow: func(c *condition, _ float64, w []string) {
			i := slices.IndexFunc(c.Devices, func(d Device) bool { return d.Name == w[1] })
			c.Devices[i].ToneMA = number(w[2]) * 4
		}},
}

// choices are the numbers that a remedy allows: the one that it names, and one that goes
// further.
func (r *remedy) choices(t *rapid.T, words []string) []float64 {
	switch {
	case r.less > 0:
		named := number(words[1])
		x := rapid.Float64Range(min(r.less, named), named).Draw(t, "less")
		return []float64{named, max(math.Floor(x), min(r.less, named))}
	case r.more > 0:
		named := number(words[1])
		return []float64{named, rapid.Float64Range(named, max(r.more, named)).Draw(t, "more")}
	}
	return []float64{0}
}

// drawCondition draws a loop that something may well be wrong with.
func drawCondition(t *rapid.T) *condition {
	l := drawLoop(t, 12)
	l.Supply.V = rapid.SampledFrom([]float64{12, 18, 24, 36}).Draw(t, "V")
	l.Supply.Ohm = rapid.SampledFrom([]float64{0, 1, 1, 40, 400, 5000}).Draw(t, "supply ohm")
	l.Supply.MostMA = rapid.SampledFrom([]float64{0, 20, 100, 500}).Draw(t, "supply mA")
	l.ResistorOhm = rapid.SampledFrom([]float64{0, 100, 250, 250, 500, 1000}).Draw(t, "R")
	l.Host = Host{
		At:      Place(rapid.IntRange(0, 2).Draw(t, "place")),
		V:       rapid.SampledFrom([]float64{0.1, 0.5}).Draw(t, "host V"),
		Ohm:     rapid.SampledFrom([]float64{10, 100, 400}).Draw(t, "host ohm"),
		NF:      rapid.SampledFrom([]float64{0, 10}).Draw(t, "host nF"),
		Swapped: rapid.Bool().Draw(t, "swapped"),
	}
	for i := range l.Series {
		l.Series[i].Ohm *= rapid.SampledFrom([]float64{1, 1, 20}).Draw(t, "times")
	}
	l.Host.Device = rapid.IntRange(0, len(l.Devices)-1).Draw(t, "at")
	if make := rapid.IntRange(0, 1).Draw(t, "one make"); make == 1 {
		for i := range l.Cables {
			l.Cables[i].OhmPerKM, l.Cables[i].NFPerKM = 36, 150
		}
	}
	for i := range l.Devices {
		l.Devices[i].ToneMA = rapid.SampledFrom([]float64{0, 0.4, 2, 2}).Draw(t, "tone")
	}
	c := &condition{Loop: *l}
	c.now, c.worst = drawCurrents(t, l), drawCurrents(t, l)
	for i := range c.worst {
		c.worst[i] = max(c.now[i], c.worst[i])
	}
	if rapid.Bool().Draw(t, "parked") {
		c.park()
	}
	return c
}

// same is the verdict of another budget on the same thing.
func same(all []Verdict, v Verdict, nth int) *Verdict {
	for i := range all {
		if all[i].Limit == v.Limit && all[i].Device == v.Device {
			if nth == 0 {
				return &all[i]
			}
			nth--
		}
	}
	return nil
}

// TestMendsMend follows every sentence of every mend of random loops, as a reader would,
// with the number that it names and one that goes further: the limit is not broken any
// more. In a loop of which a device is gone, its verdict is too.
func TestMendsMend(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCondition(t)
		b := c.Reckon(c.now, c.worst)
		seen := map[string]int{}
		for _, v := range b.Verdicts {
			nth := seen[v.Limit+v.Device]
			seen[v.Limit+v.Device]++
			if (v.Finding == Broken) != (v.Mend != "") {
				t.Fatalf("%s is %v and is mended by %q", v.Says, v.Finding, v.Mend)
			}
			if v.Mend == "" || v.Mend == together {
				continue
			}
			for says := range strings.SplitSeq(v.Mend, "; or ") {
				i := slices.IndexFunc(remedies, func(r remedy) bool { return r.says.MatchString(says) })
				if i < 0 {
					t.Fatalf("nobody knows how to follow %q", says)
				}
				words := remedies[i].says.FindStringSubmatch(says)
				for _, x := range remedies[i].choices(t, words) {
					changed := c.clone()
					remedies[i].follow(changed, x, words)
					after := same(changed.Reckon(changed.now, changed.worst).Verdicts, v, nth)
					if after != nil && after.Finding == Broken {
						t.Fatalf("%s: %s (%v), and then %s", v.Says, says, x, after.Says)
					}
					need := max(changed.NeedV(changed.now), changed.NeedV(changed.worst))
					if strings.Contains(says, "for all devices)") {
						changed.Supply.V = 42
						if changed.fed() {
							t.Fatalf("%s: %s, and then 42 V are enough", v.Says, says)
						}
					} else if remedies[i].feeds && (need > changed.Supply.V+1e-6 || !changed.fed()) {
						t.Fatalf("%s: %s, and then %v V are needed of %v", v.Says, says, need, changed.Supply.V)
					}
				}
			}
		}
	})
}

// TestMendsAreNoMoreThanNeeded: a little less than what is named does not mend.
func TestMendsAreNoMoreThanNeeded(t *testing.T) {
	l, parked := multidrop(15, 10.5)
	c := &condition{Loop: *l, now: parked, worst: parked}
	if got := c.mendLiftOff(); got != "a supply of at least 25.5 V; or at most 13 devices, parked at 4 mA" {
		t.Errorf("got %q", got)
	}
	c.ResistorOhm = 300
	c.Devices = c.Devices[:13]
	c.now, c.worst = parked[:13], parked[:13]
	// 13.5 V / 52 mA = 259.6 ohm; 10.5 V + 52 mA · 300 ohm = 26.1 V; 13.5 V / 1.2 V = 11.25
	want := "a supply of at least 26.1 V; or at most 11 devices, parked at 4 mA; or a resistor of at most 259 ohm"
	if got := c.mendLiftOff(); got != want {
		t.Errorf("got %q\nwant %q", got, want)
	}
}

// TestFiguresOfPeople: a number never looks like its limit where it is not.
func TestFiguresOfPeople(t *testing.T) {
	tests := []struct {
		got, want float64
		digits    int
		g, w      string
	}{
		{9, 10.5, 1, "9.0", "10.5"},
		{10.5 - 1e-12, 10.5, 1, "10.5", "10.5"},
		{10.48, 10.5, 1, "10.48", "10.5"},
		{11.96, 12, 1, "11.96", "12.0"},
		{11.9999, 12, 1, "11.9999", "12.0"},
		{10.46, 10.45, 1, "10.46", "10.45"},
		{-0.001, 1, 1, "0.0", "1.0"},
		{229.7, 230, 0, "229.7", "230"},
		{79.96, 80, 0, "79.96", "80"},
	}
	for _, tt := range tests {
		if g, w := against(tt.got, tt.want, tt.digits); g != tt.g || w != tt.w {
			t.Errorf("%v against %v: %s against %s, want %s against %s", tt.got, tt.want, g, w, tt.g, tt.w)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		want := float64(rapid.IntRange(0, 20000).Draw(t, "want")) / 100
		got := want + rapid.Float64Range(-1, 1).Draw(t, "off")
		g, w := against(got, want, 1)
		if math.Abs(got-want) > 1e-6 && (number(g) < number(w)) != (got < want) {
			t.Fatalf("%v against %v: %s against %s", got, want, g, w)
		}
	})
}

func BenchmarkReckon(b *testing.B) {
	l, parked := trunk(24)
	far := *l
	far.Supply.V = 40
	far.Host.At = AcrossSupply
	big := Loop{Supply: Supply{V: 30, Ohm: 1}, ResistorOhm: 250, Host: Host{V: 0.5, Ohm: 100}}
	var all []float64
	for i := range 100 {
		big.Cables = append(big.Cables, Cable{Behind: i - 1, LengthM: 50, OhmPerKM: 36, NFPerKM: 100})
	}
	for i := range 64 {
		big.Devices = append(big.Devices, Device{Name: fmt.Sprint(i), Behind: i, LiftOffV: 10, InputNF: 5, ToneMA: 2})
		all = append(all, ParkedMA)
	}
	for _, bb := range []struct {
		name string
		l    *Loop
		mA   []float64
	}{{"trap", l, parked}, {"supply", &far, parked}, {"hundred", &big, all}} {
		b.Run(bb.name, func(b *testing.B) {
			for b.Loop() {
				bb.l.Reckon(bb.mA, bb.mA)
			}
		})
	}
}
