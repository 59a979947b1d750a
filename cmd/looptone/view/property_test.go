package view_test

import (
	"bytes"
	"encoding/hex"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// Random conversations of a few devices, some of it damaged: every view of every
// message keeps its rules.
func TestViewsOfRandomMessages(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := frame.Decoder{Bare: rapid.Bool().Draw(t, "bare")}
		var tracker exchange.Tracker
		var ev frame.Event
		for range rapid.IntRange(1, 5).Draw(t, "frames") {
			d.Feed(drawWire(t), nil)
		}
		d.End()
		for d.Next(&ev) {
			tracker.Follow(0, &ev, exchange.Span{})
			m := last(&tracker)
			checkLine(t, m)
			checkSentence(t, view.Sentence(m))
			if m.Outcome == frame.Whole {
				checkBoxes(t, m, view.Explain(m))
			}
		}
	})
}

func checkLine(t *rapid.T, m *exchange.Message) {
	line := new(view.JSON).Append(nil, m, nil)
	o, err := readJSON(line)
	if err != nil {
		t.Fatalf("%v: %s", err, line)
	}
	key := "bytes"
	if m.Outcome == frame.Whole {
		key = "frame"
	}
	if o[key] != hex.EncodeToString(m.Raw) {
		t.Fatalf("%s is %v, want % x", key, o[key], m.Raw)
	}
	must := []string{"n", "event", "stream", "start", "preambles"}
	if m.Outcome == frame.Whole {
		must = append(must, "frame", "kind", "address", "master", "burst_mode", "command", "data", "values")
		if m.Frame.Kind.FromSlave() {
			must = append(must, "response", "device_status")
		}
	}
	for _, key := range must {
		if _, ok := o[key]; !ok {
			t.Fatalf("no %s: %s", key, line)
		}
	}
}

func checkSentence(t *rapid.T, s string) {
	if s == "" || strings.TrimSpace(s) != s || !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
		t.Fatalf("%q is no sentence of one line", s)
	}
}

// checkBoxes reads the bytes back from the strip of boxes and from the sentences
// under it. Of a long run of FF five are shown.
func checkBoxes(t *rapid.T, m *exchange.Message, explained string) {
	want := append(frame.AppendPreambles(nil, min(m.Preambles, 5)), m.Raw...)
	boxes, captions, sentences := parseExplained(t, explained)
	if got := bytes.Join(boxes, nil); !bytes.Equal(got, want) {
		t.Fatalf("the boxes hold % x, want % x\n%s", got, want, explained)
	}
	if len(captions) != len(boxes) || len(sentences) != len(boxes) {
		t.Fatalf("%d boxes, %d captions, %d sentences\n%s", len(boxes), len(captions), len(sentences), explained)
	}
	for i, s := range sentences {
		said, ok := strings.CutPrefix(strings.TrimSpace(s), hexOf(boxes[i]))
		said, named := strings.CutPrefix(strings.TrimLeft(said, " "), captions[i]+": ")
		if !ok || !named || strings.TrimSpace(said) == "" {
			t.Fatalf("sentence %d is %q, want %s, %s and what it says", i, s, hexOf(boxes[i]), captions[i])
		}
	}
}

func hexOf(b []byte) string {
	var pairs []string
	for _, c := range b {
		pairs = append(pairs, hex.EncodeToString([]byte{c}))
	}
	return strings.Join(pairs, " ")
}

func parseExplained(t *rapid.T, explained string) (boxes [][]byte, captions, sentences []string) {
	lines := strings.Split(strings.TrimSuffix(explained, "\n"), "\n")
	for len(lines) >= 4 && strings.HasPrefix(lines[0], "  ┌") {
		width := utf8.RuneCountInString(lines[0])
		for _, line := range lines[:4] {
			if utf8.RuneCountInString(line) != width {
				t.Fatalf("a strip with a ragged edge\n%s", explained)
			}
		}
		for _, cell := range cells(lines[1]) {
			b, err := hex.DecodeString(strings.ReplaceAll(cell, " ", ""))
			if err != nil || len(b) == 0 {
				t.Fatalf("box %q: %v", cell, err)
			}
			boxes = append(boxes, b)
		}
		captions = append(captions, cells(lines[2])...)
		lines = lines[4:]
	}
	boxes, captions = joinPieces(boxes, captions)
	return boxes, captions, joinLong(lines)
}

// joinPieces puts boxes together again that did not fit a strip.
func joinPieces(boxes [][]byte, captions []string) (whole [][]byte, named []string) {
	for i := range min(len(boxes), len(captions)) {
		if captions[i] == "…" && len(whole) > 0 {
			last := len(whole) - 1
			whole[last] = append(whole[last], boxes[i]...)
			continue
		}
		whole, named = append(whole, boxes[i]), append(named, captions[i])
	}
	return whole, named
}

// joinLong puts sentences behind bytes that stand on a line of their own.
func joinLong(lines []string) (sentences []string) {
	for _, line := range lines {
		if strings.HasPrefix(line, "   ") && len(sentences) > 0 {
			sentences[len(sentences)-1] += line
			continue
		}
		sentences = append(sentences, line)
	}
	return sentences
}

func cells(row string) (texts []string) {
	parts := strings.Split(row, "│")
	for _, part := range parts[1 : len(parts)-1] {
		texts = append(texts, strings.TrimSpace(part))
	}
	return texts
}

var numbers = func() (all []uint16) {
	for _, d := range payload.All() {
		all = append(all, d.Command)
	}
	return append(all, 31, 122, 146, 255, 256, 512, 65535)
}()

var identities = [][]byte{unhex(identity5), unhex(identity7)}

// drawWire is a frame with preambles, in one of eight cases with a wrong bit.
func drawWire(t *rapid.T) []byte {
	f := frame.Frame{
		Kind:      rapid.SampledFrom([]frame.Kind{frame.STX, frame.ACK, frame.BACK}).Draw(t, "kind"),
		Physical:  rapid.Uint8Range(0, 3).Draw(t, "physical"),
		Primary:   rapid.Bool().Draw(t, "primary"),
		Burst:     rapid.Bool().Draw(t, "burst"),
		Address:   rapid.SampledFrom([]frame.Address{three, device5, frame.Unique(0x3902, 8), frame.Broadcast}).Draw(t, "address"),
		Expansion: rapid.SliceOfN(rapid.Byte(), 0, 3).Draw(t, "expansion"),
	}
	data := rapid.SliceOfN(drawByte, 0, 30).Draw(t, "data")
	switch rapid.IntRange(0, 9).Draw(t, "form of the data") {
	case 0:
		data = rapid.SliceOfN(rapid.Byte(), 240, frame.MaxReplyData-2).Draw(t, "long data")
	case 1, 2:
		data = append(bytes.Clone(rapid.SampledFrom(identities).Draw(t, "identity")), data[:len(data)/4]...)
	}
	f.SetNumber(rapid.SampledFrom(numbers).Draw(t, "command"), data)
	if f.Kind.FromSlave() {
		f.Status.Device = frame.DeviceStatus(rapid.Byte().Draw(t, "status"))
		if rapid.Bool().Draw(t, "fails") {
			f.Status.Response = frame.Response(rapid.Byte().Draw(t, "response"))
		}
	}
	wire, err := f.AppendBinary(frame.AppendPreambles(nil, rapid.IntRange(0, 7).Draw(t, "preambles")))
	if err != nil {
		t.Fatal(err)
	}
	if rapid.IntRange(0, 7).Draw(t, "damaged") == 0 {
		wire[rapid.IntRange(0, len(wire)-1).Draw(t, "at")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
	}
	return wire
}

// drawByte makes floats that are none, texts and days more likely.
var drawByte = rapid.OneOf(rapid.Byte(), rapid.SampledFrom([]byte{0x00, 0x01, 0x0c, 0x20, 0x39, 0x7f, 0x80, 0xa0, 0xff}))
