package report

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/frame/exchange"
)

// However long it goes on, every character is in one step, near its time.
func TestGridKeepsAllCharacters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var g grid
		var l lane
		g.lanes = []*lane{&l}
		g.begin(rapid.Float64Range(-10, 1e6).Draw(t, "from"))
		var all uint64
		at := g.from
		for range rapid.IntRange(1, 300).Draw(t, "messages") {
			chars := rapid.IntRange(0, 300).Draw(t, "characters")
			length := float64(chars) * characterSeconds
			g.spread(&l, at, at+length, chars)
			all += uint64(chars)
			at += length + rapid.Float64Range(0, 5000).Draw(t, "pause")
		}
		var kept uint64
		for i, n := range l.chars {
			kept += uint64(n)
			if n > 0 && i >= g.used {
				t.Fatalf("step %d holds %d characters, and %d steps are used", i, n, g.used)
			}
		}
		if kept != all {
			t.Fatalf("the steps hold %d characters, want %d", kept, all)
		}
		if g.used > mostSteps || g.from+float64(g.used+1)*g.width < at-5000-3*g.width {
			t.Fatalf("%d steps of %v s from %v on do not reach %v", g.used, g.width, g.from, at)
		}
	})
}

// A curve that is thinned out goes on to hold every reading between its least and most,
// in the order of time.
func TestCurveHoldsWhatItIsThinnedOutOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := curve{each: 1}
		n := rapid.IntRange(1, 5000).Draw(t, "readings")
		scale := rapid.Float64Range(0, 100).Draw(t, "scale")
		low, high := math.Inf(1), math.Inf(-1)
		value := func(i int) float64 { return scale * math.Sin(float64(i*i)) }
		for i := range n {
			c.add(float64(i), value(i))
			low, high = min(low, value(i)), max(high, value(i))
		}
		if len(c.points) > mostPoints {
			t.Fatalf("%d points, want at most %d", len(c.points), mostPoints)
		}
		i, least, most := 0, math.Inf(1), math.Inf(-1)
		for _, p := range c.points {
			if p.from != float64(i) {
				t.Fatalf("a point begins at %v, want %d", p.from, i)
			}
			for ; float64(i) <= p.to; i++ {
				if v := value(i); v < p.low || v > p.high {
					t.Fatalf("reading %d is %v, and its point reaches from %v to %v", i, v, p.low, p.high)
				}
			}
			least, most = min(least, p.low), max(most, p.high)
		}
		if i != n || least != low || most != high || c.readings != int64(n) {
			t.Fatalf("%d readings from %v to %v, want %d from %v to %v", i, least, most, n, low, high)
		}
	})
}

func TestDelaysCountEveryLengthOnce(t *testing.T) {
	var d delays
	for ms := range 20_000 {
		d.add(time.Duration(ms) * time.Millisecond)
	}
	n, last := 0, 0
	for _, c := range d.counted() {
		if c[0] < last || c[1] <= c[0] {
			t.Fatalf("from %d to %d ms, behind %d", c[0], c[1], last)
		}
		n, last = n+c[2], c[1]
	}
	if n != 20_000 {
		t.Errorf("%d are counted, want 20000", n)
	}
	if first := d.counted()[52]; first != [3]int{52, 53, 1} {
		t.Errorf("got %v for 52 ms, want once from 52 to 53", first)
	}
}

// A status holds until another reply says otherwise, and behind the last reply nothing is
// known.
func TestStatusHoldsBetweenReplies(t *testing.T) {
	var l lane
	for step, status := range map[int]uint8{2: 0x08, 5: 0x08, 9: 0x00, 12: 0x80} {
		l.set[step], l.unset[step] = status, ^status
	}
	want := []int64{2, 0x08, 0xf7, 9, 0x00, 0xff, 12, 0x80, 0x7f, 13, 0, 0}
	if got := l.statuses(20); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// A poll keeps no bytes of a reply that was damaged, and does not say that none was.
func TestLeadTellsOfADamagedReplyToAPoll(t *testing.T) {
	traffic := NewTraffic(Source{})
	m := exchange.Message{Event: &frame.Event{Outcome: frame.Whole, Frame: frame.Frame{Kind: frame.STX}}, Number: 1}
	traffic.Add(&m, false, "")
	m.Unanswered, m.Damage = 1, 1
	traffic.Add(&m, false, "")
	if lead, want := traffic.lead(), "2 messages, 1 device or address. 0 of 1 request was answered. 1 message was damaged."; lead != want {
		t.Errorf("it says %q, want %q", lead, want)
	}
}

// A ring gives back the latest in their order.
func TestRingHoldsTheLatest(t *testing.T) {
	r := ring{most: 3}
	for i := range 8 {
		r.slot().order = int64(i)
	}
	var orders []int64
	for _, k := range r.ordered() {
		orders = append(orders, k.order)
	}
	if len(orders) != 3 || orders[0] != 5 || orders[2] != 7 {
		t.Errorf("got %v, want 5 6 7", orders)
	}
}
