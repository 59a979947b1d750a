package fault

import (
	"math/bits"

	"looptone/frame"
)

// loseCharacters takes characters out.
func loseCharacters(f *active, m *message) (struck bool) {
	rate := f.values["loss_rate"]
	for i := 0; i < len(m.cells); {
		if f.chance.Float64() < rate {
			m.remove(i)
			struck = true
		} else {
			i++
		}
	}
	return struck
}

// doubleCharacters sends characters twice; what stands before one, once.
func doubleCharacters(f *active, m *message) (struck bool) {
	rate := f.values["doubling_rate"]
	for i := 0; i < len(m.cells); i++ {
		if f.chance.Float64() < rate {
			again := m.cells[i]
			m.insert(i+1, cell{value: again.value, mark: again.mark & broken})
			i++
			struck = true
		}
	}
	return struck
}

// addStray puts random characters behind the message.
func addStray(f *active, m *message) (struck bool) {
	if !m.framed {
		return false
	}
	for range f.whole("stray_chars") {
		m.cells = append(m.cells, cell{value: byte(f.chance.Uint32())})
	}
	return true
}

// addHalf puts a character behind the message of which only the start bit and up
// to eight more are sent; what is missing reads as mark. So the carrier is off when
// it ends.
//
// Source: Texas Instruments application note SLAAEH8, section 3.5.1, table 3-9
// (characters behind a reply, as its carrier goes off); its bits from memory.
func addHalf(f *active, m *message) (struck bool) {
	sent := f.chance.IntN(9)
	c := cell{value: byte(f.chance.Uint32()) | byte(0xff)<<sent}
	if bits.OnesCount8(c.value)%2 == 1 { // the right parity bit would be 0
		c.mark = frame.Parity
	}
	m.cells = append(m.cells, c)
	m.burst.Tail = 0
	return true
}
