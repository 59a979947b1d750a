package exchange

import "looptone/frame"

// Errors are numbers of events that are no frames, each in its first fault.
type Errors struct {
	Parity, Framing, Gap, CheckByte, Cut, ByteCount int64

	UnknownType     int64 // noise that began as a frame does
	Strays          int64 // noise of one or two characters, see [Message.IsStray]
	Noise           int64 // other noise
	NoiseCharacters int64 // of all three

	// ByTalker is who was to be heard: STX, ACK, BACK by number, 0 where the
	// delimiter could not be read.
	ByTalker [8]int64
	// ByField is where the reading stood, by [frame.Field].
	ByField [frame.FieldCheckByte + 1]int64
	// Reported are the errors with which devices say that they heard requests,
	// by bit from the lowest; one reply can report several.
	Reported [8]int64
}

// Damaged is the number of damaged frames.
func (e *Errors) Damaged() int64 {
	return e.Parity + e.Framing + e.Gap + e.CheckByte + e.Cut + e.ByteCount
}

// add counts damage or noise.
func (e *Errors) add(m *Message) {
	if m.Outcome == frame.Noise {
		e.addNoise(m)
		return
	}
	fault, ok := m.Err.(*frame.FaultError)
	if !ok {
		return
	}
	if n := e.counter(fault.Err); n != nil {
		*n++
	}
	e.ByTalker[kindOf(m.Event)&7]++
	e.ByField[fault.Field]++
}

func (e *Errors) addNoise(m *Message) {
	e.NoiseCharacters += m.characters()
	switch {
	case m.Err != nil:
		e.UnknownType++
	case m.IsStray():
		e.Strays++
	default:
		e.Noise++
	}
}

func (e *Errors) counter(err error) *int64 {
	switch err {
	case frame.ErrParity:
		return &e.Parity
	case frame.ErrFraming:
		return &e.Framing
	case frame.ErrGap:
		return &e.Gap
	case frame.ErrCheckByte:
		return &e.CheckByte
	case frame.ErrCut:
		return &e.Cut
	case frame.ErrByteCount:
		return &e.ByteCount
	}
	return nil
}

func (e *Errors) addReported(f *frame.Frame) {
	faults, ok := f.Status.Response.Errors()
	if !ok {
		return
	}
	for bit := range e.Reported {
		if faults>>bit&1 != 0 {
			e.Reported[bit]++
		}
	}
}
