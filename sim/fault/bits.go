package fault

import "looptone/frame"

// flipBits turns bits of every character round.
func flipBits(f *active, m *message) (struck bool) {
	rate := f.values["bit_error_rate"]
	for i := range m.cells {
		c := &m.cells[i]
		value, mark := f.flip(c.value, c.mark, rate)
		struck = struck || value != c.value || mark != c.mark
		c.value, c.mark = value, mark
	}
	return struck
}

// flip turns each of the ten bits behind a start bit round with a probability:
// eight data bits, parity and stop bit. An odd number of changes among the first
// nine turns a right parity into a wrong one, and the other way round.
func (f *active) flip(value byte, mark frame.Mark, rate float64) (byte, frame.Mark) {
	const parity, stop = 8, 9
	for bit := range stop + 1 {
		if f.chance.Float64() >= rate {
			continue
		}
		switch {
		case bit == stop:
			mark ^= frame.Framing
			continue
		case bit != parity:
			value ^= 1 << bit
		}
		mark ^= frame.Parity
	}
	return value, mark
}
