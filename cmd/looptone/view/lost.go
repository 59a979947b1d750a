package view

import "looptone/frame/exchange"

// Lost is the news that a capture has lost something: some characters of a stream,
// while it was recorded, or through damage what nobody knows of any stream.
type Lost struct {
	Number     int
	Stream     int   // with damage the first one
	Pos        int64 // so many characters of the stream stand in front
	Span       exchange.Span
	Characters int64     // that were lost; 0 where their number is not known
	Place      *Position // of the damage
	Text       string    // what the damage is
}

// AppendLost writes that a capture has lost something.
func (j *JSON) AppendLost(dst []byte, l *Lost) []byte {
	o := object{b: dst, known: j}
	o.stands(`,"event":"lost","stream":`, l.Number, l.Stream, l.Pos, 0)
	o.when(&l.Span)
	o.where(l.Place)
	if l.Characters > 0 {
		o.int(`"characters":`, l.Characters)
	}
	if l.Text != "" {
		o.text(`"text":`, l.Text)
	}
	return append(o.b, '}')
}
