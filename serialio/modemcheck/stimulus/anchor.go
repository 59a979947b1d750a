package stimulus

import (
	"slices"
	"sort"
	"time"
)

// So many characters in a row that are found once only in what was sent tell where in it
// something is that was heard: data and addresses are by chance. Where one row deceives,
// the others around it do not.
const rowLength = 4

// A sentChar is a character of a set, on its time line.
type sentChar struct {
	value    byte
	waveform int
	message  int // of all
	end      time.Duration
}

// An index finds rows of characters in what was sent.
type index struct {
	sent []sentChar
	at   map[uint32]int // index of the first of the row; -1 where it is there more than once
}

func newIndex(sent []sentChar) *index {
	x := &index{sent: sent, at: map[uint32]int{}}
	for i := 0; i+rowLength <= len(sent); i++ {
		if sent[i].message != sent[i+rowLength-1].message {
			continue // another message may follow where this one did not come
		}
		row := rowOf(sent[i:], func(c *sentChar) byte { return c.value })
		if _, ok := x.at[row]; ok {
			x.at[row] = -1
			continue
		}
		x.at[row] = i
	}
	return x
}

func rowOf[C any](chars []C, value func(*C) byte) (row uint32) {
	for i := range rowLength {
		row = row<<8 | uint32(value(&chars[i]))
	}
	return row
}

// An anchor is a character heard, and which one sent it is.
type anchor struct{ heard, sent int }

// rows are those heard that were sent once only, in the order of what was heard.
func (x *index) rows(heard []heardChar) (found []anchor) {
	for j := 0; j+rowLength <= len(heard); j++ {
		row := rowOf(heard[j:], func(c *heardChar) byte { return c.value })
		if i, ok := x.at[row]; ok && i >= 0 {
			found = append(found, anchor{j, i})
		}
	}
	return found
}

// anchors are as many rows as are there in the order of sending, and what belongs to them.
func (x *index) anchors(rows []anchor, heard []heardChar) []anchor {
	return x.withLeads(withRows(longestRising(rows)), heard)
}

// withLeads adds what leads up to each anchor and is alike: the preambles of a message,
// of which there are many more, belong to the one that they lead.
func (x *index) withLeads(anchors []anchor, heard []heardChar) (all []anchor) {
	last := anchor{-1, -1}
	for _, a := range anchors {
		first := a
		for first.heard > last.heard+1 && first.sent > last.sent+1 && heard[first.heard-1].value == x.sent[first.sent-1].value {
			first.heard, first.sent = first.heard-1, first.sent-1
		}
		for ; first != a; first.heard, first.sent = first.heard+1, first.sent+1 {
			all = append(all, first)
		}
		all, last = append(all, a), a
	}
	return all
}

// withRows adds the other characters of each row.
func withRows(rows []anchor) (all []anchor) {
	for k, a := range rows {
		for n := range rowLength {
			next := anchor{a.heard + n, a.sent + n}
			if k+1 < len(rows) && (next.heard >= rows[k+1].heard || next.sent >= rows[k+1].sent) {
				break
			}
			all = append(all, next)
		}
	}
	return all
}

// longestRising is the longest part of anchors in which what was sent is in order.
func longestRising(all []anchor) []anchor {
	var ends []int // of each length, the anchor with the lowest end of one so long
	before := make([]int, len(all))
	for k, a := range all {
		n := sort.Search(len(ends), func(n int) bool { return all[ends[n]].sent >= a.sent })
		before[k] = -1
		if n > 0 {
			before[k] = ends[n-1]
		}
		if n == len(ends) {
			ends = append(ends, k)
		} else {
			ends[n] = k
		}
	}
	var rising []anchor
	if len(ends) > 0 {
		for k := ends[len(ends)-1]; k >= 0; k = before[k] {
			rising = append(rising, all[k])
		}
	}
	slices.Reverse(rising)
	return rising
}
