package frame_test

import (
	"looptone/frame"
)

// A reference decodes a whole stream at once, slowly, straight from the rules:
// it may look ahead as far as it likes and tries every place anew. It shares no
// code with the decoder. The stream ends with a Cut.
type reference struct {
	chars []byte
	marks []frame.Mark // one more than chars
	bare  bool
}

func newReference(chars []byte, marks []frame.MarkAt, bare bool) reference {
	r := reference{chars, make([]frame.Mark, len(chars)+1), bare}
	for _, m := range marks {
		r.marks[m.Pos] |= m.Mark
	}
	r.marks[0] |= frame.Cut
	r.marks[len(chars)] |= frame.Cut
	return r
}

// events are all events of the stream.
func (r reference) events() (events []frame.Event) {
	for from := 0; from < len(r.chars); {
		ev := r.event(from)
		ev.Raw = r.chars[ev.Start:ev.End]
		events = append(events, ev)
		from = int(ev.End)
	}
	return events
}

// event is the event that begins at from.
func (r reference) event(from int) frame.Event {
	run := r.run(from)
	if d := from + run; run >= 2 && r.startsFrame(d) {
		if got := r.attempt(d); got.fault != nil {
			return r.damage(d, run, got)
		}
		return r.whole(d, run)
	}
	if d, ok := r.bareFrame(from); ok {
		return r.whole(d, d-from)
	}
	if run < 2 {
		run = 0
	}
	return r.noise(from, from+run)
}

// run is the number of FF characters at i that count as one run.
func (r reference) run(i int) (n int) {
	for ; i < len(r.chars) && r.isPreamble(i); i++ {
		if n > 0 && r.has(i, frame.Gap|frame.Cut) {
			break
		}
		n++
	}
	return n
}

// runBegins: a run of two or more starts at i, not earlier; characters before
// from do not matter.
func (r reference) runBegins(from, i int) bool {
	goesOn := i > from && r.isPreamble(i-1) && !r.has(i, frame.Gap|frame.Cut)
	return !goesOn && r.run(i) >= 2
}

func (r reference) isPreamble(i int) bool {
	return r.chars[i] == 0xff && !r.has(i, frame.Parity|frame.Framing)
}

func (r reference) has(i int, m frame.Mark) bool { return r.marks[i]&m != 0 }

// startsFrame: the character at d, behind enough preambles, is a delimiter.
func (r reference) startsFrame(d int) bool {
	return d < len(r.chars) && !r.has(d, frame.Gap|frame.Cut) && isDelimiter(r.chars[d])
}

func isDelimiter(c byte) bool { return c&7 == 1 || c&7 == 2 || c&7 == 6 }

func (r reference) whole(d, preambles int) frame.Event {
	end := r.attempt(d).end
	return frame.Event{Outcome: frame.Whole, Preambles: preambles, Start: int64(d), End: int64(end),
		Frame: readUpTo(r.chars[d:end])}
}

// bareFrame: with bare on, a stretch from one place to another that is exactly
// one frame, with one preamble or none.
func (r reference) bareFrame(from int) (d int, ok bool) {
	const place = frame.Gap | frame.Line | frame.Cut
	if !r.bare || from >= len(r.chars) || !r.has(from, place) {
		return 0, false
	}
	d = from
	if r.isPreamble(d) {
		if d++; r.has(d, frame.Gap|frame.Cut) {
			return 0, false
		}
	}
	if d >= len(r.chars) || r.has(d, frame.Parity|frame.Framing) || !isDelimiter(r.chars[d]) {
		return 0, false
	}
	got := r.attempt(d)
	return d, got.fault == nil && r.has(got.end, place)
}

// noise from its first preamble to the next thing that ends it.
func (r reference) noise(from, start int) frame.Event {
	ev := frame.Event{Outcome: frame.Noise, Preambles: start - from, Start: int64(start)}
	if start > from && start < len(r.chars) && !r.has(start, frame.Gap|frame.Cut) && r.chars[start] != 0xff {
		ev.Err = &frame.FaultError{Start: int64(start), Field: frame.FieldDelimiter, At: int64(start), Err: frame.ErrFrameType}
	}
	end := start
	for !r.noiseEnds(from, start, end) {
		end++
	}
	ev.End = int64(end)
	ev.Edge = from == start && end-start < 256 && (r.has(start, frame.Cut) || r.has(end, frame.Cut))
	return ev
}

func (r reference) noiseEnds(from, start, i int) bool {
	if i == from {
		return false
	}
	if r.has(i, frame.Cut) || r.runBegins(from, i) || i == start+256 {
		return true
	}
	_, bare := r.bareFrame(i)
	return bare
}

// damage: where it ends is decided by the first intact frame behind the
// delimiter, the first cut, or the claimed length.
func (r reference) damage(d, preambles int, got attempt) frame.Event {
	ev := frame.Event{Outcome: frame.Damaged, Preambles: preambles, Start: int64(d), End: int64(got.end),
		Frame: readUpTo(r.chars[d:got.fault.At]), Err: got.fault}
	for i := d + 1; i < got.end; i++ {
		isCheckByte := i == got.end-1
		if !(isCheckByte && r.isPreamble(i)) && r.intactBegins(d+1, i) {
			ev.End = int64(i)
			break
		}
	}
	ev.Faults = r.faults(d, int(ev.End), got)
	return ev
}

// faults are the communication errors of what the event covers, and the one
// that the fault itself is, if it lies behind.
func (r reference) faults(d, end int, got attempt) (f frame.Faults) {
	for i := d; i < end; i++ {
		if r.has(i, frame.Parity) {
			f |= frame.VerticalParity
		}
		if r.has(i, frame.Framing) {
			f |= frame.FramingError
		}
	}
	switch got.fault.Err {
	case frame.ErrParity:
		f |= frame.VerticalParity
	case frame.ErrFraming:
		f |= frame.FramingError
	case frame.ErrCheckByte:
		f |= frame.LongitudinalParity
	}
	if got.mismatch && end == got.end {
		f |= frame.LongitudinalParity
	}
	return f
}

// intactBegins: the preambles of an intact frame begin at i. The last character
// of the damage is left out if it is FF: a check byte is nobody's preamble.
func (r reference) intactBegins(from, i int) bool {
	if _, ok := r.bareFrame(i); ok {
		return true
	}
	d := i + r.run(i)
	return r.runBegins(from, i) && r.startsFrame(d) && r.attempt(d).fault == nil
}

// An attempt is what comes of reading a frame.
type attempt struct {
	end      int // claimed, or at a cut
	fault    *frame.FaultError
	mismatch bool // the check byte was read and is wrong
}

// attempt reads the frame whose delimiter is at d to its claimed end.
func (r reference) attempt(d int) (a attempt) {
	fail := func(field frame.Field, at int, err error) {
		if a.fault == nil {
			a.fault = &frame.FaultError{Start: int64(d), Field: field, At: int64(at), Err: err}
		}
	}
	fields := layout(r.chars[d:])
	for n, field := range fields {
		i := d + n
		if n > 0 && r.has(i, frame.Cut) {
			fail(field, i, frame.ErrCut)
			a.end = i
			return a
		}
		if n > 0 && r.has(i, frame.Gap) {
			fail(field, i, frame.ErrGap)
		}
		if r.has(i, frame.Parity) {
			fail(field, i, frame.ErrParity)
		}
		if r.has(i, frame.Framing) {
			fail(field, i, frame.ErrFraming)
		}
		if field == frame.FieldByteCount && r.chars[d]&7 != 2 && r.chars[i] < 2 {
			fail(field, i, frame.ErrByteCount)
		}
	}
	a.end = d + len(fields)
	var sum byte
	for _, c := range r.chars[d : a.end-1] {
		sum ^= c
	}
	if got := r.chars[a.end-1]; got != sum {
		a.mismatch = true
		fail(frame.FieldCheckByte, a.end-1, frame.ErrCheckByte)
		if a.fault.Err == frame.ErrCheckByte {
			a.fault.Compared, a.fault.Got, a.fault.Want = true, got, sum
		}
	}
	return a
}

// layout names the field of every character that a frame claims, as far as b
// tells, and of one more when b ends before it.
func layout(b []byte) (fields []frame.Field) {
	add := func(field frame.Field, n int) {
		for ; n > 0 && len(fields) <= len(b); n-- {
			fields = append(fields, field)
		}
	}
	add(frame.FieldDelimiter, 1)
	add(frame.FieldAddress, addressLength(b[0]))
	add(frame.FieldExpansion, int(b[0]>>5)&3)
	add(frame.FieldCommand, 1)
	add(frame.FieldByteCount, 1)
	if len(fields) > len(b) {
		return fields
	}
	count := int(b[len(fields)-1])
	if b[0]&7 != 2 && count >= 2 {
		add(frame.FieldStatus, 2)
		count -= 2
	}
	add(frame.FieldData, count)
	add(frame.FieldCheckByte, 1)
	return fields
}

func addressLength(delimiter byte) int {
	if delimiter&0x80 != 0 {
		return 5
	}
	return 1
}

// readUpTo is the frame as far as b, which ends at a fault or behind the check
// byte, holds its fields; only the data may be incomplete.
func readUpTo(b []byte) (f frame.Frame) {
	if len(b) == 0 {
		return f
	}
	f.Kind, f.Physical = frame.Kind(b[0]&7), b[0]>>3&3
	at := map[frame.Field][]byte{}
	for i, field := range layout(b) {
		if i < len(b) {
			at[field] = append(at[field], b[i])
		}
	}
	if a := at[frame.FieldAddress]; len(a) == addressLength(b[0]) {
		f.Address, f.Primary, f.Burst = address(a), a[0]&0x80 != 0, a[0]&0x40 != 0
	}
	if e := at[frame.FieldExpansion]; len(e) == int(b[0]>>5)&3 {
		f.Expansion = e
	}
	if c := at[frame.FieldCommand]; c != nil {
		f.Command = c[0]
	}
	if s := at[frame.FieldStatus]; len(s) == 2 {
		f.Status = frame.Status{Response: frame.Response(s[0]), Device: frame.DeviceStatus(s[1])}
	}
	f.Data = at[frame.FieldData]
	return f
}

func address(a []byte) frame.Address {
	if len(a) == 1 {
		return frame.Polling(a[0] & 63)
	}
	return frame.Unique(uint16(a[0]&63)<<8|uint16(a[1]), uint32(a[2])<<16|uint32(a[3])<<8|uint32(a[4]))
}
