package replay

import (
	"bytes"
	"testing"

	"looptone/frame"
	"looptone/sim"
)

func TestPausesAreThoseOfTheRecording(t *testing.T) {
	for _, test := range []struct {
		speed float64
		want  []sim.Tick
	}{
		{0, []sim.Tick{0, 3 * sim.Second, 0, sim.Hold}},
		{2, []sim.Tick{0, 1500 * sim.Millisecond, 0, sim.Hold}},
		{0.5, []sim.Tick{0, 6 * sim.Second, 0, sim.Hold}},
	} {
		s := NewSource(test.speed)
		var got []Piece
		for _, c := range []Characters{
			{Timed: true, Start: 7 * sim.Second, End: 8 * sim.Second, Chars: []byte{1}},
			{Timed: true, Start: 9 * sim.Second, End: 9 * sim.Second}, // news without characters
			{Timed: true, Start: 11 * sim.Second, End: 12 * sim.Second, Chars: []byte{2}},
			{Timed: true, Start: 11 * sim.Second, End: 12 * sim.Second, Chars: []byte{3}}, // late by so much
			{Apart: true}, // something is lost
			{Timed: true, Start: 99 * sim.Second, End: 99 * sim.Second, Chars: []byte{4}},
		} {
			got = s.Take(got, &c)
		}
		got = s.Flush(got)
		for i, p := range got {
			if len(got) != 4 || p.Pause != test.want[i] || p.Chars[0] != byte(i+1) {
				t.Fatalf("speed %v: pieces %v, want pauses %v", test.speed, got, test.want)
			}
		}
	}
}

// TestMessagesWithoutTimesAreHoldApart: however the characters come, all of them are
// sent, divided where messages end.
func TestMessagesWithoutTimesAreHoldApart(t *testing.T) {
	request := []byte("\xff\xff\xff\xff\xff\x02\x83\x00\x00\x81")
	noise := []byte("\x01\x02")
	all := bytes.Join([][]byte{request, noise, request}, nil)
	for _, size := range []int{1, 3, len(all)} {
		s := NewSource(1)
		var got []Piece
		for rest := all; len(rest) > 0; {
			n := min(size, len(rest))
			got = s.Take(got, &Characters{Chars: rest[:n]})
			rest = rest[n:]
		}
		got = s.Flush(got)
		want := [][]byte{request, noise, request}
		if len(got) != len(want) {
			t.Fatalf("in pieces of %d: %d messages, want %d", size, len(got), len(want))
		}
		for i, p := range got {
			if !bytes.Equal(p.Chars, want[i]) || i > 0 && p.Pause != sim.Hold {
				t.Errorf("in pieces of %d: message %d is % x behind %d ticks", size, i, p.Chars, p.Pause)
			}
		}
	}
}

// TestMarksDivide: a frame without preambles stands alone on its line of text.
func TestMarksDivide(t *testing.T) {
	s := NewSource(1)
	bare := []byte("\x02\x80\x00\x00\x82")
	c := Characters{Chars: append(bytes.Clone(bare), bare...), Marks: []frame.MarkAt{{Pos: 0, Mark: frame.Line}, {Pos: 5, Mark: frame.Line}}}
	got := s.Take(s.Take(nil, &c), &c)
	if got = s.Flush(got); len(got) != 4 || !bytes.Equal(got[3].Chars, bare) {
		t.Errorf("got %v, want the frame four times", got)
	}
}

// TestWrongBitsStayAtTheirCharacters: with times or without, whatever the division.
func TestWrongBitsStayAtTheirCharacters(t *testing.T) {
	request := []byte("\xff\xff\xff\xff\xff\x02\x83\x00\x00\x81")
	all := bytes.Join([][]byte{request, {1, 2}, request}, nil)
	wrong := map[int]frame.Mark{3: frame.Parity, 11: frame.Framing, 20: frame.Parity | frame.Framing}
	for _, timed := range []bool{false, true} {
		for _, size := range []int{1, 4, len(all)} {
			s := NewSource(1)
			var got []Piece
			for at := 0; at < len(all); at += size {
				part := all[at:min(at+size, len(all))]
				c := Characters{Timed: timed, Chars: part, Marks: []frame.MarkAt{{Pos: 0, Mark: frame.Line}}}
				for i := range part {
					if m := wrong[at+i]; m != 0 {
						c.Marks = append(c.Marks, frame.MarkAt{Pos: int64(i), Mark: m})
					}
				}
				got = s.Take(got, &c)
			}
			at, found := 0, 0
			for _, p := range s.Flush(got) {
				for _, m := range p.Wrong {
					if want := wrong[at+int(m.Pos)]; m.Mark != want {
						t.Errorf("timed %v, in pieces of %d: character %d has %v, want %v", timed, size, at+int(m.Pos), m.Mark, want)
					}
					found++
				}
				at += len(p.Chars)
			}
			if found != len(wrong) || at != len(all) {
				t.Errorf("timed %v, in pieces of %d: %d marks in %d characters, want %d in %d", timed, size, found, at, len(wrong), len(all))
			}
		}
	}
}
