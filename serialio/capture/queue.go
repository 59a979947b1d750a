package capture

import (
	"time"

	"looptone/frame"
)

// An entry is one thing that waits to be written.
type entry struct {
	what   what
	stream uint8
	at     time.Time
	chars  []byte
	marks  []frame.MarkAt
	lost   int64
	text   string
}

type what uint8

const (
	characters what = iota
	carrierOn
	carrierOff
	loss
	remark
	resumption // nobody listened since the entry in front
)

// size is what an entry takes of the buffer: what it holds, and itself.
func (e *entry) size() int { return entrySize + len(e.chars) + markSize*len(e.marks) + len(e.text) }

const (
	entrySize = 128
	markSize  = 16
)

// A queue holds entries, up to a number of bytes. What finds no room is counted.
type queue struct {
	room    int
	entries []entry
	lost    []missing // by stream
}

// missing is what of a stream could not be kept or written.
type missing struct {
	chars     int64
	at        time.Time // of the last of them
	carrier   what      // the last change of it, if it is not told: carrierOn or carrierOff
	carrierAt time.Time
}

// put takes an entry, or counts it among what is missing.
func (q *queue) put(e entry) (taken bool) {
	m := &q.lost[e.stream]
	m.tell(e.stream, q.take)
	if !m.any() && q.take(e) {
		return true
	}
	m.add(&e)
	return false
}

// take takes an entry if there is room.
func (q *queue) take(e entry) bool {
	if e.size() > q.room {
		return false
	}
	q.room -= e.size()
	q.entries = append(q.entries, e)
	return true
}

// next is the first entry. Its room is given back by written.
func (q *queue) next() (e entry, ok bool) {
	for i := range q.lost {
		q.lost[i].tell(uint8(i), q.take)
	}
	if len(q.entries) == 0 {
		return entry{}, false
	}
	e = q.entries[0]
	q.entries[0] = entry{}
	q.entries = q.entries[1:]
	return e, true
}

func (q *queue) written(e *entry) { q.room += e.size() }

func (m *missing) any() bool { return m.chars > 0 || m.carrier != 0 }

// add counts an entry. A remark is no loss.
func (m *missing) add(e *entry) {
	switch e.what {
	case characters, loss:
		m.chars += int64(len(e.chars)) + e.lost
		m.at = e.at
	case carrierOn, carrierOff:
		m.carrier, m.carrierAt = e.what, e.at
	}
}

// tell tells what is missing, in the order of times, up to what is not taken.
func (m *missing) tell(stream uint8, take func(entry) bool) {
	for m.any() {
		if m.chars > 0 && (m.carrier == 0 || !m.carrierAt.Before(m.at)) {
			if !take(entry{what: loss, stream: stream, at: m.at, lost: m.chars}) {
				return
			}
			m.chars = 0
			continue
		}
		if !take(entry{what: m.carrier, stream: stream, at: m.carrierAt}) {
			return
		}
		m.carrier = 0
	}
}
