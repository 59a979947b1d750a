package frame_test

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"looptone/frame"
)

// The streams are made of valid frames, of what stands between frames, and of
// damage of every kind, so that nearly every one holds something to find.
func TestDecoderOnRandomStreams(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var chars []byte
		at := map[int]frame.Mark{}
		for range rapid.IntRange(1, 6).Draw(t, "pieces") {
			piece := drawPiece(t)
			if rapid.IntRange(0, 2).Draw(t, "is marked") == 0 {
				pos := len(chars) + rapid.IntRange(0, len(piece)).Draw(t, "marked")
				at[pos] |= rapid.SampledFrom(scriptMarks).Draw(t, "mark")
			}
			chars = append(chars, piece...)
			if rapid.IntRange(0, 2).Draw(t, "ends at a place") == 0 {
				at[len(chars)] |= rapid.SampledFrom(scriptMarks[2:]).Draw(t, "place")
			}
		}
		cuts := rapid.SliceOfN(rapid.IntRange(0, len(chars)), 0, 8).Draw(t, "cuts")
		slices.Sort(cuts)
		checkDecoder(t, chars, sortedMarks(at, len(chars)), rapid.Bool().Draw(t, "bare"), cuts)
	})
}

// sortedMarks leaves out what cannot stand behind the last character.
func sortedMarks(at map[int]frame.Mark, n int) (marks []frame.MarkAt) {
	for pos := range n + 1 {
		mark := at[pos]
		if pos == n {
			mark &^= frame.Parity | frame.Framing
		}
		if mark != 0 {
			marks = append(marks, frame.MarkAt{Pos: int64(pos), Mark: mark})
		}
	}
	return marks
}

func drawPiece(t *rapid.T) []byte {
	switch rapid.IntRange(0, 9).Draw(t, "piece") {
	case 0:
		return frame.AppendPreambles(nil, rapid.IntRange(0, 6).Draw(t, "idle"))
	case 1:
		return rapid.SliceOfN(rapid.SampledFrom([]byte{0x00, 0x02, 0x06, 0x82, 0xff}), 0, 12).Draw(t, "noise")
	case 2:
		return slices.Repeat([]byte{0x55}, rapid.IntRange(250, 262).Draw(t, "long noise"))
	case 3, 4, 5:
		return damage(t, drawWire(t, true))
	default:
		return drawWire(t, true)
	}
}

// drawWire is a valid frame with preambles; its data may hold another one.
func drawWire(t *rapid.T, nested bool) []byte {
	f := frame.Frame{
		Kind:      rapid.SampledFrom([]frame.Kind{frame.STX, frame.ACK, frame.BACK}).Draw(t, "kind"),
		Primary:   rapid.Bool().Draw(t, "primary"),
		Burst:     rapid.Bool().Draw(t, "burst"),
		Address:   frame.Polling(rapid.Uint8Range(0, 63).Draw(t, "polling")),
		Expansion: rapid.SliceOfN(rapid.Byte(), 0, 3).Draw(t, "expansion"),
		Command:   rapid.Byte().Draw(t, "command"),
		Status:    frame.Status{Response: frame.Response(rapid.Byte().Draw(t, "response"))},
		Data:      rapid.SliceOfN(rapid.SampledFrom([]byte{0x00, 0x02, 0x06, 0xff}), 0, 8).Draw(t, "data"),
	}
	if rapid.Bool().Draw(t, "long") {
		f.Address = frame.Unique(rapid.Uint16().Draw(t, "type"), rapid.Uint32().Draw(t, "id"))
	}
	if nested && rapid.IntRange(0, 2).Draw(t, "nested") == 0 {
		f.Data = append(f.Data, drawWire(t, false)...)
	}
	if !f.Kind.FromSlave() {
		f.Status = frame.Status{}
	}
	wire, err := f.AppendBinary(frame.AppendPreambles(nil, rapid.IntRange(0, 4).Draw(t, "preambles")))
	if err != nil {
		t.Fatal(err)
	}
	return wire
}

// damage changes, drops or doubles one character.
func damage(t *rapid.T, wire []byte) []byte {
	at := rapid.IntRange(0, len(wire)-1).Draw(t, "damaged")
	switch rapid.IntRange(0, 2).Draw(t, "damage") {
	case 0:
		wire[at] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
	case 1:
		wire = slices.Delete(wire, at, at+1)
	case 2:
		wire = slices.Insert(wire, at, wire[at])
	}
	return wire
}

// A frame is delivered with its last character when nothing is pending.
func TestWholeFrameIsDeliveredAtOnce(t *testing.T) {
	for _, v := range readVectors(t) {
		if expect, _ := v.Value("expect"); expect != "frame" {
			continue
		}
		if _, several := v.Value("events"); several {
			continue
		}
		if bare, _ := v.Value("bare"); bare == "yes" {
			continue
		}
		var d frame.Decoder
		var ev frame.Event
		last := len(v.Chars) - 1
		d.Feed(v.Chars[:last], v.Marks)
		if d.Next(&ev) {
			t.Errorf("%s: an event before the last character", v.Name)
		}
		d.Feed(v.Chars[last:], nil)
		if !d.Next(&ev) || ev.Outcome != frame.Whole {
			t.Errorf("%s: no frame with the last character", v.Name)
		}
	}
}
