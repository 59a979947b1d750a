package frame

import "errors"

// held is damage that ends either where it claims to, or where the run of FF
// begins that crosses that end.
type held struct {
	ev    Event
	chars [MaxLen]byte // of ev
	run   int          // length of the run's part in ev; 0 when nothing is held
}

func (d *Decoder) deliverWhole(ev *Event, start, end int) {
	d.describe(ev, Whole, start, end)
	ev.Raw = d.chars[start:end:end]
	ev.Frame.read(ev.Raw)
	d.restart(end)
}

func (d *Decoder) deliverNoise(ev *Event, end int) {
	d.describe(ev, Noise, d.at, end)
	ev.Raw = d.chars[d.at:end:end]
	ev.Edge = d.lead == 0 && end-d.at < noiseLen && (d.marks[d.at]|d.marks[end])&Cut != 0
	if d.lead > 0 && end > d.at && d.joined(d.at) && d.chars[d.at] != 0xff {
		ev.Err = &FaultError{Start: ev.Start, Field: FieldDelimiter, At: ev.Start, Err: ErrFrameType}
	}
	d.restart(end)
}

// deliverDamage delivers the damage at at, which claims to end at claim and does
// end at end.
func (d *Decoder) deliverDamage(ev *Event, claim, end int) {
	d.describeDamage(ev, d.chars[d.at:min(claim, len(d.chars))], claim, end)
	d.restart(end)
}

// hold keeps the damage at at, which claims to end at end, until it is known
// whether the run of FF that crosses end leads to a whole frame.
func (d *Decoder) hold(end, run int) {
	chars := d.held.chars[:copy(d.held.chars[:], d.chars[d.at:end])]
	d.describeDamage(&d.held.ev, chars, end, end)
	d.held.run = run
	d.restart(end)
}

// release delivers the held damage without its last n characters, which are
// preambles of what follows.
func (d *Decoder) release(ev *Event, n int) {
	*ev = d.held.ev
	ev.End -= int64(n)
	ev.Raw = ev.Raw[:len(ev.Raw)-n]
	if n > 0 && !errors.Is(ev.Err, ErrCheckByte) {
		ev.Faults &^= LongitudinalParity // its check byte is no longer its own
	}
	d.lead += n
	d.held.run = 0
}

func (d *Decoder) restart(at int) { d.at, d.lead, d.search = at, 0, at }

func (d *Decoder) describe(ev *Event, o Outcome, start, end int) {
	*ev = Event{Outcome: o, Preambles: d.lead, Start: d.base + int64(start), End: d.base + int64(end)}
}

// describeDamage describes the damage at at, of which chars are known.
func (d *Decoder) describeDamage(ev *Event, chars []byte, claim, end int) {
	d.describe(ev, Damaged, d.at, end)
	ev.Raw = chars[:end-d.at]
	at, err := d.firstFault(claim)
	fault := &FaultError{Start: ev.Start, At: d.base + int64(at), Err: err}
	fault.Field, _ = ev.Frame.read(chars[:at-d.at])
	if err == ErrCheckByte {
		fault.Compared, fault.Got, fault.Want = true, chars[at-d.at], CheckByte(chars[:at-d.at])
	}
	ev.Err = fault
	ev.Faults = faultsOf(err)
	for _, m := range d.marks[d.at:end] {
		ev.Faults |= m.faults()
	}
	if end == d.claimed(d.at) && CheckByte(ev.Raw) != 0 {
		ev.Faults |= LongitudinalParity
	}
}

// faultsOf is what a device would report of a fault, which may lie behind the
// extent of its damage.
func faultsOf(err error) Faults {
	switch err {
	case ErrParity:
		return VerticalParity
	case ErrFraming:
		return FramingError
	case ErrCheckByte:
		return LongitudinalParity
	}
	return 0
}

// firstFault is the first thing that is wrong with the frame at at, which ends
// at end.
func (d *Decoder) firstFault(end int) (at int, err error) {
	claimed, count := d.claimed(d.at), d.countAt(d.at)
	short := d.short(d.at)
	for i := d.at; i <= min(end, d.marked); i++ {
		switch m := d.marks[i]; {
		case i > d.at && i < claimed && m&Cut != 0:
			return i, ErrCut
		case i > d.at && i < min(end, len(d.chars)) && m&Gap != 0:
			return i, ErrGap
		case i < end && m&Parity != 0:
			return i, ErrParity
		case i < end && m&Framing != 0:
			return i, ErrFraming
		case short && i == count:
			return i, ErrByteCount
		}
	}
	if short {
		return count, ErrByteCount
	}
	return end - 1, ErrCheckByte
}
