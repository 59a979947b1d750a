package modemcheck

import (
	"slices"
	"time"
)

// A heardChar is a character as it came in.
type heardChar struct {
	value   byte
	at      time.Duration // when it ended
	parity  bool
	framing bool
	alone   bool // that few came in with it, so that its time is known
}

// A sentChar is a character as it went out.
type sentChar struct {
	value    byte
	at       time.Duration // when it ended
	message  int32
	preamble bool
}

// How much earlier or later than it was sent a character may come in. Earlier it is only
// when the clocks differ: by 2.5 % over the longest message.
const (
	mostEarly = 8 // characters
	mostLate  = time.Second
)

// What an alignment costs: a character lost, extra or wrong, and times that do not fit, by
// the character. A little decides where the values leave it open; much costs more than a
// wrong character, and less than a lost and an extra one.
const (
	edit       = 1000
	misfit     = 100
	mostMisfit = 1990
	never      = 1 << 30
)

// An aligner finds which character that was heard is which that was sent, with as few
// lost, wrong and extra ones as possible.
type aligner struct {
	sent      []sentChar
	heard     []heardChar
	character time.Duration
	lateness  time.Duration
	// The delays of solid stretches before and behind each character that was heard.
	before, behind []reference

	first []int32 // of each row: how many were heard in its first column
	start []int   // where its cells begin
	moves []move  // the cells
}

// A reference is how late a stretch was in which everything fits.
type reference struct {
	delay   time.Duration
	message int32
	known   bool
}

// A move is how a cell was come to.
type move uint8

const (
	pair  move = iota // a character sent and one heard, equal or not
	lost              // one sent
	extra             // one heard
)

// align gives for each character sent the index of the one heard, or -1. The first time
// only values count, within reach; the second time those moments too which the first has
// made known.
func (a *aligner) align() []int32 {
	a.heard = undelayed(a.heard, a.character)
	a.frameRows()
	partners := a.run()
	a.refer(partners)
	return a.run()
}

// alignPlaced is align where what was heard stands at the moments at which it was sent, as
// near as is known: the first time, these count too.
func (a *aligner) alignPlaced() []int32 {
	a.before = make([]reference, len(a.heard))
	for j := range a.before {
		a.before[j] = reference{known: true}
	}
	a.behind = a.before
	return a.align()
}

// mostStall is how long a stall of this machine may be that is seen through, in characters.
const mostStall = 7

// undelayed takes back what was told late: no character ends less than one before the
// next, but for a clock that is 3 % fast.
func undelayed(heard []heardChar, character time.Duration) []heardChar {
	heard = slices.Clone(heard)
	for i := len(heard) - 2; i >= 0; i-- {
		if latest := heard[i+1].at - character*97/100; latest < heard[i].at {
			heard[i].at = max(latest, heard[i].at-mostStall*character)
		}
	}
	return heard
}

// frameRows gives every row its columns. Row i has i characters sent behind it, column j
// as many heard. What came too early for the one that was sent last, or too late for it,
// is left out, but for what is too early for the next one too.
func (a *aligner) frameRows() {
	n := len(a.sent)
	a.first, a.start = make([]int32, n+1), make([]int, n+2)
	early, lo, hi := mostEarly*a.character, 0, 0
	for i := range n {
		a.first[i] = int32(lo)
		for lo < len(a.heard) && a.heard[lo].at < a.sent[i].at-early {
			lo++
		}
		latest := a.sent[max(i-1, 0)].at + mostLate
		for hi < len(a.heard) && (hi < lo || a.heard[hi].at <= latest) {
			hi++
		}
		a.start[i+1] = a.start[i] + hi - int(a.first[i]) + 1
	}
	a.first[n] = int32(lo)
	a.start[n+1] = a.start[n] + len(a.heard) - lo + 1
	a.moves = make([]move, a.start[n+1])
}

func (a *aligner) width(row int) int { return a.start[row+1] - a.start[row] }

// run fills the cells row by row and walks back from the last one.
func (a *aligner) run() []int32 {
	var above, costs []int32
	for i := range len(a.sent) + 1 {
		costs = slices.Grow(costs[:0], a.width(i))[:a.width(i)]
		for k := range costs {
			costs[k] = a.cell(i, k, above, costs)
		}
		above, costs = costs, above
	}
	return a.walk()
}

// cell is the least that column k of row i costs. Of what costs the same a loss comes
// first on the way back, so that it is as late as possible there and as early as possible
// on the line.
func (a *aligner) cell(i, k int, above, costs []int32) int32 {
	j := int(a.first[i]) + k
	best, how := int32(never), pair
	if i == 0 && k == 0 {
		best = 0
	}
	if i > 0 {
		up := j - int(a.first[i-1])
		if up > 0 && up-1 < len(above) {
			if c := above[up-1] + a.pairCost(i-1, j-1); c < best {
				best, how = c, pair
			}
		}
		if up < len(above) {
			if c := above[up] + edit; c < best {
				best, how = c, lost
			}
		}
	}
	if k > 0 {
		if c := costs[k-1] + edit; c < best {
			best, how = c, extra
		}
	}
	a.moves[a.start[i]+k] = how
	return min(best, never)
}

// pairCost is what it costs to take one for the other.
func (a *aligner) pairCost(i, j int) int32 {
	s, h := &a.sent[i], &a.heard[j]
	delay := h.at - s.at
	if delay > mostLate || delay < -mostEarly*a.character {
		return never / 2
	}
	off := a.off(delay, s.message, j)
	cost := int32(min(off.Abs()*misfit/a.character, mostMisfit))
	switch slack := a.character * 3 / 4; {
	case s.value == h.value:
		return cost
	case off < -slack || off > slack+a.lateness:
		return never / 2 // another one that came in its stead, not the same one garbled
	}
	return edit + cost
}

// off is how far a delay is from that of the closest stretch in which everything fits; of
// the same message, if there is one. Without any it is 0.
func (a *aligner) off(delay time.Duration, message int32, j int) time.Duration {
	if a.before == nil {
		return 0
	}
	before, behind := a.before[j], a.behind[j]
	if before.known && behind.known && before.message != behind.message {
		before.known = behind.message != message
		behind.known = before.message != message
	}
	fromBefore, fromBehind := delay-before.delay, delay-behind.delay
	switch {
	case before.known && (!behind.known || fromBefore.Abs() < fromBehind.Abs()):
		return fromBefore
	case behind.known:
		return fromBehind
	}
	return 0
}

// walk gives the partners, from the last cell back to the first.
func (a *aligner) walk() []int32 {
	partners := make([]int32, len(a.sent))
	i, j := len(a.sent), len(a.heard)
	for i > 0 {
		switch a.moves[a.start[i]+j-int(a.first[i])] {
		case pair:
			i, j = i-1, j-1
			partners[i] = int32(j)
		case lost:
			i--
			partners[i] = -1
		case extra:
			j--
		}
	}
	return partners
}

// A stretch is solid when so many characters in a row fit. It tells the delay of what is
// no further away than near.
const (
	solid = 4
	near  = 64
)

// refer takes the delays of the stretches in which everything fits.
func (a *aligner) refer(partners []int32) {
	at := make([]reference, len(a.heard))
	for from := 0; from < len(partners); {
		to := from + 1
		for a.fits(partners, from) && to < len(partners) && a.fits(partners, to) && partners[to] == partners[to-1]+1 {
			to++
		}
		if to-from >= solid {
			a.anchor(at, partners, from, to)
		}
		from = to
	}
	a.before = carry(at, slices.All(at))
	a.behind = carry(at, slices.Backward(at))
}

func (a *aligner) fits(partners []int32, i int) bool {
	return partners[i] >= 0 && a.sent[i].value == a.heard[partners[i]].value
}

// anchor takes the delays of a stretch but for its ends: which of several like ones was
// lost there, values cannot tell.
func (a *aligner) anchor(at []reference, partners []int32, from, to int) {
	first, last := from, to-1
	for first < last && a.sent[first].value == a.sent[from].value {
		first++
	}
	for last > first && a.sent[last].value == a.sent[to-1].value {
		last--
	}
	for i := first; i <= last && last > first; i++ {
		j := partners[i]
		at[j] = reference{a.heard[j].at - a.sent[i].at, a.sent[i].message, true}
	}
}

// carry takes each reference along to those that follow it and have none.
func carry(at []reference, all func(func(int, reference) bool)) []reference {
	carried := make([]reference, len(at))
	var last reference
	age := 0
	for i, r := range all {
		if age++; r.known {
			last, age = r, 0
		}
		if age <= near {
			carried[i] = last
		}
	}
	return carried
}
