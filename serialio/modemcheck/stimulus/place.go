package stimulus

import (
	"sort"
	"time"

	"looptone/frame"
)

// A placer puts what was heard onto the time line of what was sent: a capture has begun at
// any moment, files were played with any pauses between, and there may be no times at all.
type placer struct {
	heard   *Heard
	sent    []sentChar
	rows    []anchor // all that were found, in the order of sending or not
	anchors []anchor
	begin   time.Duration // where something stands of which nothing is known
}

// arrivals are the characters, each at its place.
func (p *placer) arrivals() []frame.Arrival {
	arrivals := make([]frame.Arrival, len(p.heard.chars))
	last := time.Duration(-1 << 62)
	next, split := 0, -1 // the anchor that is not before; behind which character it is the one that counts
	for j := range p.heard.chars {
		c := &p.heard.chars[j]
		for next < len(p.anchors) && p.anchors[next].heard < j {
			next++
			split = p.split(next)
		}
		last = max(last, p.place(j, next, split))
		arrivals[j] = frame.Arrival{At: epoch.Add(last), Chars: []byte{c.value}}
		if c.mark != 0 {
			arrivals[j].Marks = []frame.MarkAt{{Mark: c.mark}}
		}
	}
	return arrivals
}

// place is where character j ends, counted from the anchor before, or from the next one
// where it stands behind the split.
func (p *placer) place(j, next, split int) time.Duration {
	switch {
	case len(p.anchors) == 0:
		return p.begin + p.since(0, j)
	case next == len(p.anchors) || next > 0 && j <= split:
		next--
	}
	a := p.anchors[next]
	return p.sent[a.sent].end + p.since(a.heard, j)
}

// split is the last character before anchor next that belongs to the anchor before that. With
// times they are what tells; without, of different messages, what is alike.
func (p *placer) split(next int) int {
	if next == 0 || next == len(p.anchors) {
		return -1
	}
	a, b := p.anchors[next-1], p.anchors[next]
	if p.heard.timed || p.sent[a.sent].message == p.sent[b.sent].message {
		split := a.heard
		for split+1 < b.heard && p.since(a.heard, split+1) <= p.since(split+1, b.heard) {
			split++
		}
		return split
	}
	return p.splitByValue(a, b)
}

// splitByValue gives the end of one message and the beginning of another what is most like
// them; if in doubt, the end has what it lacks.
func (p *placer) splitByValue(a, b anchor) int {
	tail, head := p.tail(a), p.head(b)
	like := 0
	for k := 1; k <= head && b.heard-k > a.heard; k++ {
		like += p.alike(b.heard-k, b.sent-k)
	}
	best, most := a.heard, like
	for split := a.heard + 1; split < b.heard; split++ {
		if k := split - a.heard; k <= tail {
			like += p.alike(split, a.sent+k)
		}
		if k := b.heard - split; k <= head {
			like -= p.alike(split, b.sent-k)
		}
		if like > most || like == most && split-a.heard <= tail {
			best, most = split, like
		}
	}
	return best
}

// alike is 1 where a character came as it was sent.
func (p *placer) alike(heard, sent int) int {
	if p.heard.chars[heard].value == p.sent[sent].value {
		return 1
	}
	return 0
}

// tail is how many characters of its message stand behind an anchor, and head how many
// before it.
func (p *placer) tail(a anchor) (n int) {
	for a.sent+n+1 < len(p.sent) && p.sent[a.sent+n+1].message == p.sent[a.sent].message {
		n++
	}
	return n
}

func (p *placer) head(a anchor) (n int) {
	for a.sent-n-1 >= 0 && p.sent[a.sent-n-1].message == p.sent[a.sent].message {
		n++
	}
	return n
}

// came counts the messages of each waveform of which most was found, preambles left out.
func (p *placer) came() map[int]int {
	found, all := map[int]int{}, map[int]int{}
	leading, last := true, -1
	for i := range p.sent {
		c := &p.sent[i]
		leading = c.value == 0xff && (leading || c.message != last)
		if last = c.message; !leading {
			all[c.message]++
		}
	}
	for _, a := range p.anchors {
		if c := &p.sent[a.sent]; c.value != 0xff {
			found[c.message]++
		}
	}
	came := map[int]int{}
	counted := -1
	for _, a := range p.anchors {
		c := &p.sent[a.sent]
		if c.message != counted && 4*found[c.message] >= 3*all[c.message] {
			came[c.waveform]++
			counted = c.message
		}
	}
	return came
}

// enoughAstray are more rows than come from elsewhere by chance.
const enoughAstray = 4 * rowLength

// astray finds a waveform of which there are messages among those of another one; all are to
// be of one waveform, unless that is everything.
func (p *placer) astray(of int) (stray, among int, ok bool) {
	count := map[[2]int]int{}
	next := 0
	for _, row := range p.rows {
		for next < len(p.anchors) && p.anchors[next].heard <= row.heard {
			next++
		}
		stray, among = p.sent[row.sent].waveform, of
		if of == everything && len(p.anchors) > 0 {
			among = p.sent[p.anchors[max(next-1, 0)].sent].waveform
		}
		pair := [2]int{stray, among}
		if count[pair]++; stray != among && count[pair] == enoughAstray {
			return stray, among, true
		}
	}
	return 0, 0, false
}

// since is how much later character j ended than character i.
func (p *placer) since(i, j int) time.Duration {
	a, b := &p.heard.chars[i], &p.heard.chars[j]
	if p.heard.timed && a.part == b.part {
		return b.end - a.end
	}
	return frame.Characters(int64(j - i))
}

// carriersOn are the moments at which a carrier went on, each at its place, as far as that
// is known.
func (p *placer) carriersOn() (at []time.Duration) {
	for _, e := range p.heard.edges {
		if e.way > 0 && e.timed && p.heard.timed && len(p.anchors) > 0 {
			at = append(at, p.placeEdge(&e))
		}
	}
	return at
}

// placeEdge counts from the anchor before or behind that is nearer in time.
func (p *placer) placeEdge(e *carrierEdge) time.Duration {
	k := sort.Search(len(p.anchors), func(k int) bool { return p.anchors[k].heard >= e.behind })
	since := func(k int) time.Duration { return e.at - p.heard.chars[p.anchors[k].heard].end }
	if k == len(p.anchors) || k > 0 && since(k-1).Abs() <= since(k).Abs() {
		k--
	}
	return p.sent[p.anchors[k].sent].end + since(k)
}
