package fault

import "looptone/sim"

// openGap lets the sender pause at a place behind the delimiter.
func openGap(f *active, m *message) (struck bool) {
	if !m.framed {
		return false
	}
	i := m.delimiter + 1 + f.chance.IntN(m.check-m.delimiter)
	m.cells[i].pause += f.ticks("gap_chars", sim.Character)
	return true
}

// swallowPreamble lets the first characters of the preamble pass unheard: the
// carrier is on before, and what is heard is heard when it is sent.
func swallowPreamble(f *active, m *message) (struck bool) {
	if !m.framed {
		return false
	}
	for range min(f.whole("swallowed_chars"), m.delimiter) {
		m.burst.Lead += sim.Character + sim.Character*sim.Tick(m.burst.PPM)/1_000_000
		m.remove(0)
		struck = true
	}
	return struck
}

// miscount changes the byte count, as far as a byte can hold it.
func miscount(f *active, m *message) (struck bool) {
	i, ok := m.count()
	if !ok {
		return false
	}
	right := m.cells[i].value
	m.change(i, byte(min(max(int(right)+f.whole("count_off_bytes"), 0), 0xff)))
	return m.cells[i].value != right
}

// spoilCheckByte makes it any other one.
func spoilCheckByte(f *active, m *message) (struck bool) {
	if m.framed {
		m.cells[m.check].value ^= byte(1 + f.chance.IntN(255))
	}
	return m.framed
}

// readdress changes one bit of the address: of the low six of a polling address,
// or the low 38 of a unique one. The two bits above them are flags.
func readdress(f *active, m *message) (struck bool) {
	first, ok := m.address()
	if !ok {
		return false
	}
	last, bits := first, 6
	if m.head().Long() {
		last, bits = first+4, 38
	}
	bit := f.chance.IntN(bits)
	i := last - bit/8
	m.change(i, m.cells[i].value^1<<(bit%8))
	return true
}
