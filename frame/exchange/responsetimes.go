package exchange

import "time"

// ResponseTimes counts response times by the millisecond. The zero value is
// ready; the memory comes with the first time.
type ResponseTimes struct {
	count       int64
	min, max    time.Duration
	uncertainty time.Duration
	buckets     []uint32 // by the nearest whole millisecond; the last one for all behind it
}

// Quantiles of response times. All but Count are 0 where there is none. Min and
// Max are exact; the others are whole milliseconds: the smallest that so many
// of the times do not exceed, each rounded to the nearest millisecond.
type Quantiles struct {
	Count                            int64
	Min, Median, Most95, Most99, Max time.Duration
	Uncertainty                      time.Duration // by which each may be wrong either way
}

// Add counts a response time, if it is known. One below 0, as a port may tell it
// whose characters come late, counts as 0.
func (r *ResponseTimes) Add(e Elapsed) {
	if e.Known {
		e.Time = max(e.Time, 0)
		r.add(e)
	}
}

func (r *ResponseTimes) add(e Elapsed) {
	t := e.Time
	if r.buckets == nil {
		r.buckets = make([]uint32, lastBucket+1)
		r.min = t
	}
	r.count++
	r.uncertainty = max(r.uncertainty, e.Uncertainty)
	r.min, r.max = min(r.min, t), max(r.max, t)
	r.buckets[bucketOf(t)]++
}

// lastBucket is behind all replies that are paired, where their times are certain.
const lastBucket = int(overdue/time.Millisecond) + 2

func bucketOf(t time.Duration) int {
	return min(int((t+time.Millisecond/2)/time.Millisecond), lastBucket)
}

// Quantiles is what was counted so far.
func (r *ResponseTimes) Quantiles() Quantiles {
	return Quantiles{Count: r.count, Min: r.min, Median: r.atMost(50), Most95: r.atMost(95), Most99: r.atMost(99), Max: r.max, Uncertainty: r.uncertainty}
}

// atMost is the smallest time that percent of the times do not exceed.
func (r *ResponseTimes) atMost(percent int64) time.Duration {
	need := (r.count*percent + 99) / 100
	var n int64
	for i, count := range r.buckets {
		if n += int64(count); n >= need {
			if i == lastBucket {
				return r.max
			}
			return time.Duration(i) * time.Millisecond
		}
	}
	return 0
}
