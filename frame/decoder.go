package frame

import (
	"fmt"
	"math"
)

// noiseLen is the largest number of characters in one event of noise.
const noiseLen = 256

// A Decoder divides a stream of characters into frames, damage and noise. The
// zero Decoder is ready and stands at a [Cut]. The same characters and marks
// give the same events, however they are divided into calls of Feed.
//
// What the marks do:
//
//	mark             run of FF                      inside a frame           a bare frame may begin or end here
//	Parity, Framing  such an FF does not count,     damage; the frame is     no
//	                 the run starts anew behind it  read to its claimed end
//	Gap              starts anew here               as above                 yes
//	Line             goes on                        nothing                  yes
//	Cut              starts anew here               damage, which ends here  yes
//
// Damage ends where the run of FF begins that leads to the first whole frame,
// if that run begins inside the span that the damaged frame claims; else at the
// first Cut; else at the claimed end. Noise ends at a Cut, before two FF, and
// after 256 characters.
type Decoder struct {
	// Bare takes a stretch between two places that is exactly one frame with
	// a right check byte for a frame, although it has no preamble or only one
	// FF. It is meant for captures; a station must not answer such a request.
	Bare bool

	chars  []byte // fed and not yet delivered, from index at
	marks  []Mark // of each of chars, and of the place behind the last
	base   int64  // stream index of chars[0]
	at     int    // where the undelivered characters begin
	lead   int    // preambles in front of at; as a number, for a run may be long
	search int    // up to here no end of the extent was found
	marked int    // the last index of marks that is not 0, or −1
	held   held
}

// Feed appends chars and what stands beside them. A mark's Pos is the index of
// its character in the whole stream, not in chars; it must lie in chars or, for
// marks that stand before a character, right behind them.
func (d *Decoder) Feed(chars []byte, marks []MarkAt) {
	d.begin()
	d.compact()
	first := d.Pos()
	d.chars = append(d.chars, chars...)
	d.marks = append(d.marks, make([]Mark, len(chars))...)
	for _, m := range marks {
		if m.Pos < first || m.Pos > d.Pos() || m.Pos == d.Pos() && m.Mark&broken != 0 {
			panic(fmt.Sprintf("frame: mark at %d outside the characters %d to %d that it was fed with", m.Pos, first, d.Pos()))
		}
		d.mark(m.Pos, m.Mark)
	}
}

// End sets a Cut behind the last character: the input ended or fell silent.
// More may be fed.
func (d *Decoder) End() {
	d.begin()
	d.mark(d.Pos(), Cut)
}

// Pos is the number of characters fed so far.
func (d *Decoder) Pos() int64 { return d.base + int64(len(d.chars)) }

// Settled reports whether every character that was fed has been delivered.
func (d *Decoder) Settled() bool {
	return d.at == len(d.chars) && d.run() == 0
}

// Next delivers the next event; false when that depends on characters to come.
func (d *Decoder) Next(ev *Event) bool {
	d.begin()
	d.takePreambles()
	if d.at == len(d.chars) && d.marks[d.at]&apart == 0 {
		return false
	}
	if d.starts() {
		return d.nextFrame(ev)
	}
	if d.held.run > 0 {
		d.release(ev, 0)
		return true
	}
	return d.nextNoise(ev)
}

// begin makes a fresh decoder stand at a Cut.
func (d *Decoder) begin() {
	if d.marks == nil {
		d.marks = append(make([]Mark, 0, 2*MaxLen), Cut)
	}
}

func (d *Decoder) mark(pos int64, m Mark) {
	if !d.Bare {
		m &^= Line // which only bare frames heed
	}
	if m != 0 {
		i := int(pos - d.base)
		d.marks[i] |= m
		d.marked = max(d.marked, i)
	}
}

// compact drops what was delivered, but for one preamble: a run of one that is
// left of damage turns into noise again.
func (d *Decoder) compact() {
	n := d.at - min(d.lead, 1)
	if n <= 0 {
		return
	}
	d.chars = d.chars[:copy(d.chars, d.chars[n:])]
	d.marks = d.marks[:copy(d.marks, d.marks[n:])]
	d.base += int64(n)
	d.at -= n
	d.search -= n
	d.marked = max(d.marked-n, -1)
}

// run is the length of the run of FF in front of at.
func (d *Decoder) run() int { return d.held.run + d.lead }

// takePreambles moves at behind the run of FF that begins there.
func (d *Decoder) takePreambles() {
	if d.run() < 2 && !d.pair(d.at) {
		return
	}
	from, run := d.at, d.run()
	if d.at > d.marked {
		for d.at < len(d.chars) && d.chars[d.at] == 0xff {
			d.at++
		}
	} else {
		for d.at < len(d.chars) && d.preamble(d.at) && (run+d.at-from == 0 || d.joined(d.at)) {
			d.at++
		}
	}
	if d.at > from {
		d.lead += d.at - from
		d.search = d.at
	}
}

// starts reports whether a frame starts at at.
func (d *Decoder) starts() bool {
	return d.run() >= 2 && d.at < len(d.chars) && d.joined(d.at) && d.kind(d.at).Known()
}

func (d *Decoder) nextFrame(ev *Event) bool {
	end, verdict := d.look(d.at)
	switch {
	case verdict == open:
		return false
	case d.held.run > 0 && verdict == whole:
		d.release(ev, d.held.run)
	case d.held.run > 0:
		d.release(ev, 0)
	case verdict == whole:
		d.deliverWhole(ev, d.at, end)
	default:
		return d.nextDamage(ev, end)
	}
	return true
}

// nextDamage finds where the damage that starts at at ends.
func (d *Decoder) nextDamage(ev *Event, end int) bool {
	for i := max(d.search, d.at+1); i < min(end, len(d.chars)); i++ {
		start, verdict := d.inner(i, end)
		switch verdict {
		case open:
			d.search = i
			return false
		case whole:
			d.deliverDamage(ev, end, start)
			return true
		}
	}
	if end > len(d.chars) {
		d.search = len(d.chars)
		return false
	}
	if run := d.runBefore(end, d.at+1); run >= 2 && d.joined(end) {
		d.hold(end, run)
		return d.Next(ev)
	}
	d.deliverDamage(ev, end, end)
	return true
}

// inner looks for a whole frame inside damage that ends at end. The frame's
// delimiter, or its place when it is bare, is at i; its extent begins at start.
func (d *Decoder) inner(i, end int) (start int, v verdict) {
	if d.kind(i).Known() && d.joined(i) {
		if run := d.runBefore(i, d.at+1); run >= 2 {
			if _, v = d.look(i); v != broke {
				return i - run, v
			}
		}
	}
	if d.preamble(i) && d.joined(i) && d.runBefore(i, d.at+1) > 0 {
		return i, broke // part of a run, which is looked at with its delimiter
	}
	delimiter, _, v := d.lookBare(i)
	if delimiter >= end { // a check byte FF is nobody's preamble
		v = broke
	}
	return i, v
}

// nextNoise finds where the noise that begins at at ends.
func (d *Decoder) nextNoise(ev *Event) bool {
	if d.lead == 1 { // left of damage that ended inside a run
		d.at, d.lead = d.at-1, 0
		d.search = d.at
	}
	for i := max(d.search, d.at); ; i++ {
		began := i > d.at || d.lead > 0
		if i == d.at+noiseLen || began && (d.marks[i]&Cut != 0 || d.pair(i)) {
			d.deliverNoise(ev, i)
			return true
		}
		if i == len(d.chars) || began && d.mayPair(i) {
			d.search = i
			return false
		}
		switch start, end, v := d.lookBare(i); {
		case v == open:
			d.search = i
			return false
		case v == whole && began:
			d.deliverNoise(ev, i)
			return true
		case v == whole:
			d.lead = start - i
			d.deliverWhole(ev, start, end)
			return true
		}
	}
}

// verdict is what is known of a frame so far.
type verdict uint8

const (
	open verdict = iota // depends on characters to come
	whole
	broke
)

// look judges the frame whose delimiter is at i. It ends at end: where it
// claims to, or at the first Cut before that.
func (d *Decoder) look(i int) (end int, v verdict) {
	end = math.MaxInt
	if at := d.countAt(i); at < len(d.chars) {
		count := int(d.chars[at])
		end = at + count + 2
		if count < statusLen && d.kind(i).FromSlave() {
			v = broke
		}
	}
	if i <= d.marked {
		end, v = d.lookMarks(i, end, v)
	}
	switch {
	case v != open || end > len(d.chars):
	case CheckByte(d.chars[i:end]) == 0:
		v = whole
	default:
		v = broke
	}
	return end, v
}

// countAt is the index of the byte count of the frame at i.
func (d *Decoder) countAt(i int) int { return i + Delimiter(d.chars[i]).headerLen() - 1 }

// claimed is where the frame at i says that it ends; far away while its byte
// count is not known.
func (d *Decoder) claimed(i int) int {
	count := d.countAt(i)
	if count >= len(d.chars) {
		return math.MaxInt
	}
	return count + int(d.chars[count]) + 2
}

// short reports whether the frame at i is known to leave no room for the two
// status bytes that it must have.
func (d *Decoder) short(i int) bool {
	count := d.countAt(i)
	return d.kind(i).FromSlave() && count < len(d.chars) && d.chars[count] < statusLen
}

// lookMarks is the part of look that heeds marks. A gap behind the last character
// does not count yet: it may turn out to be a Cut.
func (d *Decoder) lookMarks(i, end int, v verdict) (int, verdict) {
	if d.marks[i]&broken != 0 {
		v = broke
	}
	for j := i + 1; j < end && j <= d.marked; j++ {
		if d.marks[j]&Cut != 0 {
			return j, broke
		}
		if d.marks[j]&(broken|apart) != 0 && j < len(d.chars) {
			v = broke
		}
	}
	return end, v
}

// lookBare judges the frame without preamble, or with one, that begins at i.
func (d *Decoder) lookBare(i int) (start, end int, v verdict) {
	if !d.Bare || d.marks[i]&place == 0 {
		return i, i, broke
	}
	start = i
	if d.preamble(i) {
		if start++; d.marks[start]&apart != 0 {
			return start, start, broke
		}
		if start == len(d.chars) {
			return start, start, open
		}
	}
	if !d.kind(start).Known() {
		return start, start, broke
	}
	end, v = d.look(start)
	if v == whole && d.marks[end]&place == 0 {
		if v = broke; end == len(d.chars) {
			v = open
		}
	}
	return start, end, v
}

// preamble reports whether the character at i can be one.
func (d *Decoder) preamble(i int) bool { return d.chars[i] == 0xff && d.marks[i]&broken == 0 }

// joined reports whether the character at i continues what stands before it.
func (d *Decoder) joined(i int) bool { return d.marks[i]&apart == 0 }

// pair reports whether a run of FF begins at i.
func (d *Decoder) pair(i int) bool {
	return i+1 < len(d.chars) && d.preamble(i) && d.preamble(i+1) && d.joined(i+1)
}

// mayPair reports whether the next character decides about [Decoder.pair].
func (d *Decoder) mayPair(i int) bool {
	return i+1 == len(d.chars) && d.preamble(i) && d.joined(i+1)
}

// kind is the frame type that the character at i would be a delimiter of.
func (d *Decoder) kind(i int) Kind { return Delimiter(d.chars[i]).Kind() }

// runBefore is the length of the run of FF right before i, not in front of floor.
func (d *Decoder) runBefore(i, floor int) (n int) {
	for j := i - 1; j >= floor && d.preamble(j); j-- {
		if n++; !d.joined(j) {
			break
		}
	}
	return n
}
