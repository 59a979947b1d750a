package exchange

import "time"

// ResponseTimes counts response times by the millisecond. The zero value is
// ready; the memory comes with the first time.
type ResponseTimes struct {
	count    int64
	min, max time.Duration
	buckets  []uint32 // by the nearest whole millisecond
}

// Quantiles of response times. All but Count are 0 where there is none. Min and
// Max are exact; the others are whole milliseconds: the smallest that so many
// of the times do not exceed, each rounded to the nearest millisecond.
type Quantiles struct {
	Count                            int64
	Min, Median, Most95, Most99, Max time.Duration
}

func (r *ResponseTimes) add(t time.Duration) {
	if r.buckets == nil {
		r.buckets = make([]uint32, bucketOf(overdue)+1) // no reply is paired later
		r.min = t
	}
	r.count++
	r.min, r.max = min(r.min, t), max(r.max, t)
	r.buckets[bucketOf(t)]++
}

func bucketOf(t time.Duration) int { return int((t + time.Millisecond/2) / time.Millisecond) }

// Quantiles is what was counted so far.
func (r *ResponseTimes) Quantiles() Quantiles {
	return Quantiles{Count: r.count, Min: r.min, Median: r.atMost(50), Most95: r.atMost(95), Most99: r.atMost(99), Max: r.max}
}

// atMost is the smallest time that percent of the times do not exceed.
func (r *ResponseTimes) atMost(percent int64) time.Duration {
	need := (r.count*percent + 99) / 100
	var n int64
	for i, count := range r.buckets {
		if n += int64(count); n >= need {
			return time.Duration(i) * time.Millisecond
		}
	}
	return 0
}
