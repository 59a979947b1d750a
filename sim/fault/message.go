package fault

import (
	"slices"

	"looptone/frame"
	"looptone/sim"
)

// cell is a character of a message: what stands in front of it, and how it is sent.
type cell struct {
	pause sim.Tick
	value byte
	mark  frame.Mark
}

// message is what somebody sends, while faults strike it. The places of its frame
// are those of the frame that was sent, whatever the byte count says by now.
type message struct {
	burst     sim.Burst // without its characters
	cells     []cell
	framed    bool // it is one frame with both of the following in it
	delimiter int
	check     int
}

// open takes a burst apart. b is left as it is.
func (s *Set) open(b *sim.Burst) *message {
	m := &message{burst: *b, cells: s.cells[:0]}
	for _, c := range b.Chars {
		m.cells = append(m.cells, cell{value: c})
	}
	for _, at := range b.Marks {
		if at.Pos >= 0 && at.Pos < int64(len(m.cells)) {
			m.cells[at.Pos].mark |= at.Mark
		}
	}
	for _, p := range b.Pauses {
		if p.Before >= 0 && p.Before < len(m.cells) {
			m.cells[p.Before].pause += p.For
		}
	}
	m.locate(b.Chars)
	return m
}

// locate finds the frame.
func (m *message) locate(chars []byte) {
	for m.delimiter < len(chars) && chars[m.delimiter] == 0xff {
		m.delimiter++
	}
	f := chars[m.delimiter:]
	if len(f) == 0 || m.delimiter < 2 {
		return
	}
	if _, err := frame.Parse(f); err == nil {
		m.framed, m.check = true, len(chars)-1
	}
}

// close is the burst that is on the line. It shares nothing with the one that was
// sent.
func (s *Set) close(m *message) *sim.Burst {
	b := m.burst
	b.Chars, b.Marks, b.Pauses = make([]byte, len(m.cells)), nil, nil
	for i, c := range m.cells {
		b.Chars[i] = c.value
		if c.mark != 0 {
			b.Marks = append(b.Marks, frame.MarkAt{Pos: int64(i), Mark: c.mark})
		}
		if c.pause != 0 {
			b.Pauses = append(b.Pauses, sim.Pause{Before: i, For: c.pause})
		}
	}
	s.cells = m.cells
	return &b
}

// insert puts a character in front of the one at i.
func (m *message) insert(i int, c cell) {
	m.cells = slices.Insert(m.cells, i, c)
	if i <= m.delimiter {
		m.delimiter++
	}
	if i <= m.check {
		m.check++
	}
}

// broken are the marks that belong to a character; the others stand before it.
const broken = frame.Parity | frame.Framing

// remove takes a character out; what stands before it stays. A frame without its
// delimiter or its check byte is none.
func (m *message) remove(i int) {
	gone := m.cells[i]
	m.cells = slices.Delete(m.cells, i, i+1)
	if i < len(m.cells) {
		m.cells[i].pause += gone.pause
		m.cells[i].mark |= gone.mark &^ broken
	}
	if i == m.delimiter || i == m.check {
		m.framed = false
	}
	if i < m.delimiter {
		m.delimiter--
	}
	if i < m.check {
		m.check--
	}
}

// change changes a byte of the frame, and the check byte with it.
func (m *message) change(i int, to byte) {
	m.cells[m.check].value ^= m.cells[i].value ^ to
	m.cells[i].value = to
}

// address is where the address begins, count where the byte count stands, as the
// delimiter tells; ok is false where faults have left no such place.
func (m *message) address() (i int, ok bool) {
	end, ok := m.count()
	return m.delimiter + 1, ok && end < m.check
}

func (m *message) count() (i int, ok bool) {
	i = m.delimiter + 1 + 1 + m.head().Expansion() + 1
	if m.framed && m.head().Long() {
		i += 4
	}
	return i, m.framed && i < m.check
}

// head is the first character behind the preambles.
func (m *message) head() (d frame.Delimiter) {
	if m.framed {
		d = frame.Delimiter(m.cells[m.delimiter].value)
	}
	return d
}
