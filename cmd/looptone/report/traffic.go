package report

import (
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/exchange/findings"
)

// A Source says what a report is of.
type Source struct {
	Title    string
	Says     []string // what was chosen, and what cannot be seen in it; whole sentences
	Cautions []string
}

// A Traffic is what was said on a line, message by message, in bounded memory.
type Traffic struct {
	Source

	counts   exchange.Statistics
	stations stations
	grid     grid
	curves   curves
	archive  archive
	timeline timeline
	spoiled  int64 // requests to which what came was damaged
	torn     int64 // characters beside what the input has lost
	holes    int64 // damages and losses of the input
	judge    *findings.Judge
	notes    int
	named    []string // the input of each stream, where there are several
}

// NewTraffic is one of which nothing has come yet.
func NewTraffic(of Source) *Traffic {
	return &Traffic{Source: of, archive: newArchive(),
		stations: stations{by: map[frame.Address]int{}},
		curves:   curves{index: map[curveKey]*curve{}, more: map[curveKey]struct{}{}}}
}

// Add takes a message, which may be gone afterwards. torn says that it is what is left
// beside characters that the input has lost; place is where in its input a fault stands.
func (t *Traffic) Add(m *exchange.Message, torn bool, place string) {
	if !torn {
		t.counts.Add(m)
	}
	if m.EchoOf > 0 {
		return
	}
	at := t.timeline.place(m)
	if t.grid.width == 0 {
		t.grid.begin(at.begin)
	}
	chars := int(m.End-m.Start) + m.Preambles
	if m.Unanswered > 0 {
		chars = 0
		if m.Damage > 0 {
			t.spoiled++
		}
	}
	if torn {
		t.torn += int64(chars)
	}
	from, to := t.stations.ends(m, torn)
	t.draw(m, at, from, chars)
	if from >= firstDevice {
		t.learn(from, at, m)
	}
	t.archive.add(m, func(k *kept) { k.at, k.from, k.to, k.torn, k.place = at, from, to, torn, place })
}

// draw adds a message to the lanes.
func (t *Traffic) draw(m *exchange.Message, at moment, from, chars int) {
	l := t.stations.lane(from)
	t.join(from, l)
	t.grid.spread(l, at.begin, at.end, chars)
	step := t.grid.step(at.start)
	if wrong(m) {
		l.wrong[step]++
	}
	if m.Outcome == frame.Whole && m.Unanswered == 0 && m.Frame.Kind.FromSlave() {
		status := uint8(m.Frame.Status.Device)
		l.set[step] |= status
		l.unset[step] |= ^status
		l.status = true
	}
}

// join has the steps of a lane double with the others.
func (t *Traffic) join(number int, l *lane) {
	for number >= len(t.grid.lanes) {
		t.grid.lanes = append(t.grid.lanes, nil)
	}
	t.grid.lanes[number] = l
}

// learn takes what a device says of itself.
func (t *Traffic) learn(from int, at moment, m *exchange.Message) {
	if wrong(m) {
		return
	}
	if m.Response.Known {
		t.stations.devices[from-firstDevice].delays.add(m.Response.Time)
	}
	t.curves.add(from, at.start, m)
}

// mostNotes are told of the inputs.
const mostNotes = 40

// Note adds what is to be known of an input, and is no whole sentence.
func (t *Traffic) Note(text string) {
	if t.notes++; t.notes <= mostNotes {
		t.Says = append(t.Says, text+".")
	}
}

// Part says that nobody listened for a while: what follows may be at any time.
func (t *Traffic) Part() {
	t.counts.Part()
	t.timeline.parting = true
}

// Hole says that the input has lost something here.
func (t *Traffic) Hole() { t.holes++ }

// Inputs names the input that each stream is of.
func (t *Traffic) Inputs(names []string) { t.named = names }

// Judged adds what was found of the hosts.
func (t *Traffic) Judged(j *findings.Judge) { t.judge = j }

// began is the wall clock of time 0.
func (t *Traffic) began() (at time.Time, known bool) {
	o := t.timeline.origin
	return o, !o.IsZero()
}
