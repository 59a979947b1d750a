package sim

import (
	"math"
	"time"
)

// A Tick is a moment or a span of line time: a sixth of a microsecond, so that
// a bit and a character are whole numbers of it.
type Tick int64

const (
	Microsecond Tick = 6
	Millisecond Tick = 1000 * Microsecond
	Second      Tick = 1000 * Millisecond

	// Bit and Character at 1200 bit/s; a character is 11 bits.
	//
	// Source: FieldComm Group support article 8000040648 (character time).
	Bit       Tick = 5000
	Character Tick = 11 * Bit

	// Never is later than every moment.
	Never Tick = math.MaxInt64
)

// Ticks is d in ticks, rounded to the nearest.
func Ticks(d time.Duration) Tick {
	return Tick((int64(d/time.Second))*int64(Second)) + Tick((int64(d%time.Second)*6+500)/1000)
}

// Duration is t as a duration, rounded to the nanosecond below.
func (t Tick) Duration() time.Duration {
	return time.Duration(t/Second)*time.Second + time.Duration(t%Second*1000/6)
}

// Seconds is t in seconds.
func (t Tick) Seconds() float64 { return float64(t) / float64(Second) }
