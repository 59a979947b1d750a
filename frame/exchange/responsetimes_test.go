package exchange_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/frame/exchange"
)

// responding is a conversation in which replies come after the times given.
func responding(times []time.Duration) (all []heard) {
	three := frame.Polling(3)
	now := time.Duration(0)
	for _, after := range times {
		all = append(all, heard{frame: request(three, 1, ""), at: at(now, now)},
			heard{frame: reply(three, 1, ""), at: at(now+after, now+after)})
		now += 2 * time.Second
	}
	return all
}

// The nearest-rank percentiles of 15, 20, 35, 40 and 50: the 50th is 35, those
// above the 80th are 50.
//
// Source: from memory; the example is a common one in descriptions of the method.
func TestResponseTimes(t *testing.T) {
	const ms = time.Millisecond
	s := counted(t, responding([]time.Duration{35 * ms, 20 * ms, 15 * ms, 50 * ms, 40 * ms}))
	want := exchange.Quantiles{Count: 5, Min: 15 * ms, Median: 35 * ms, Most95: 50 * ms, Most99: 50 * ms, Max: 50 * ms}
	devices, _ := s.Devices()
	if got := s.Responses(); got != want || devices[0].Responses != want {
		t.Errorf("got  %+v, of the device %+v\nwant %+v", got, devices[0].Responses, want)
	}
	if got := new(exchange.Statistics).Responses(); got != (exchange.Quantiles{}) {
		t.Errorf("of nothing: %+v", got)
	}
}

// The quantiles are those of the sorted times, to the nearest millisecond.
func TestQuantilesOfSortedTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		micros := rapid.SliceOfN(rapid.IntRange(0, 1_256_000), 1, 150).Draw(t, "times")
		var times []time.Duration
		for _, n := range micros {
			times = append(times, time.Duration(n)*time.Microsecond)
		}
		got := counted(t, responding(times)).Responses()
		slices.Sort(times)
		rank := func(percent float64) time.Duration {
			i := int(math.Ceil(percent / 100 * float64(len(times))))
			return times[i-1].Round(time.Millisecond)
		}
		want := exchange.Quantiles{Count: int64(len(times)), Min: times[0], Median: rank(50), Most95: rank(95), Most99: rank(99), Max: times[len(times)-1]}
		if got != want {
			t.Fatalf("got  %+v\nwant %+v", got, want)
		}
	})
}
