package payload

import (
	"bytes"
	"math"
	"strconv"
	"time"
)

// tick is the unit in which times stand in data, 1/32 ms.
//
// Source: Flowserve LMENIM2340-00, p.57.
const (
	tick           = time.Millisecond / 32
	ticksPerSecond = 32000
)

// MaxDuration is the longest time that fits a field, a little over 37 hours.
const MaxDuration = math.MaxUint32 * tick

// Duration is the time that a count of 1/32 ms stands for, exactly.
func Duration(count uint32) time.Duration { return time.Duration(count) * tick }

// Count is d in 1/32 ms, to the nearest; ok is false for negative times and
// those above [MaxDuration].
func Count(d time.Duration) (count uint32, ok bool) {
	if d < 0 || d > MaxDuration {
		return 0, false
	}
	return uint32((d + tick/2) / tick), true
}

// appendSeconds writes a count of 1/32 ms in seconds, exactly: 1/32000 s has
// eight decimals.
func appendSeconds(dst []byte, count uint32) []byte {
	dst = strconv.AppendUint(dst, uint64(count/ticksPerSecond), 10)
	part := uint64(count%ticksPerSecond) * (1e8 / ticksPerSecond)
	if part == 0 {
		return dst
	}
	mark := len(dst)
	dst = strconv.AppendUint(dst, 1e8+part, 10)
	dst[mark] = '.' // in the place of the leading 1
	return bytes.TrimRight(dst, "0")
}
