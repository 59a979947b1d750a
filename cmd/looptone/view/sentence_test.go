package view_test

import (
	"strings"
	"testing"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
)

const tagLT103 = "31 4b 71 c3 38 20 82 08 20 82 08 20 82 08 20 82 08 20 1d 02 7c"

// A conversation, sentence by sentence. The first five frames are published; the
// others are constructed.
//
// Source: Buerkert, Type 8605 description of communication, pp.16, 23; Spectrum
// Controls, 1769sc isolated HART analog input module user manual 0300215-03, p.7-46.
func TestSentences(t *testing.T) {
	zero, rangeOf := frame.Polling(0), frame.Unique(0x3e02, 0x0c7737)
	c := conversation{t: t}
	for _, step := range []struct {
		f    frame.Frame
		want string
	}{
		{request(zero, 1, ""), "primary → polling address 0  read primary variable"},
		{reply(zero, 1, "39 41 c8 00 00"), "polling address 0 → primary  25 %"},
		{request(zero, 146, "01 42 48 00 00"), "primary → polling address 0  command 146  data 01 42 48 00 00"},
		{reply(zero, 146, "01 42 48 00 00"), "polling address 0 → primary  data 01 42 48 00 00"},
		{reply(rangeOf, 35, "20 44 16 00 00 c3 16 00 00"), "3e020c7737 → primary  upper range value 600 °C, lower range value -150 °C  (nobody asked)"},

		{request(three, 0, ""), "primary → polling address 3  read unique identifier"},
		{reply(three, 0, identity5), "3901000007 (3) → primary  introduces itself: unique address 3901000007, revision 5, wants 5 preambles"},
		{reply(device5, 13, tagLT103), `LT-103 (3) → primary  tag "LT-103", descriptor "", date "2024-02-29"  (nobody asked)`},
		{request(three, 1, ""), "primary → LT-103 (3)  read primary variable"},
		{answered(reply(device5, 1, "0c 41 c7 47 ae"), 0, frame.LoopCurrentFixed|frame.ColdStart),
			"LT-103 (3) → primary  24.91 kPa  [cold start, loop current fixed]  (nobody asked)"},
		{answered(reply(device5, 1, "0c 41 c7 47 ae"), 8, 0), "LT-103 (3) → primary  update failure (response code 8)  24.91 kPa  (nobody asked)"},
		{answered(reply(device5, 1, ""), 32, 0), "LT-103 (3) → primary  busy (response code 32)  (nobody asked)"},
		{answered(reply(device5, 200, ""), 64, 0), "LT-103 (3) → primary  command not implemented (response code 64)  (nobody asked)"},
		{answered(reply(device5, 1, ""), 99, 0), "LT-103 (3) → primary  response code 99  (nobody asked)"},
		{answered(reply(device5, 1, ""), frame.VerticalParity.Response()|frame.Response(frame.Overrun), 0),
			"LT-103 (3) → primary  heard the request with errors: vertical parity, overrun  (nobody asked)"},
		{answered(reply(device5, 1, ""), 0x80, 0), "LT-103 (3) → primary  heard the request with errors: it does not say which  (nobody asked)"},
		{reply(device5, 38, ""), "LT-103 (3) → primary  done  (nobody asked)"},
		{frame.Frame{Kind: frame.BACK, Address: device5, Burst: true, Command: 1, Data: unhex("0c 41 c7 47 ae")},
			"LT-103 (3) → all  burst, read primary variable  24.91 kPa"},
		{frame.Frame{Kind: frame.STX, Address: device5, Command: 6, Data: []byte{5}}, `secondary → LT-103 (3)  write polling address  5`},
		{request(frame.Broadcast, 11, "31 4b 71 c3 38 20"), `primary → all  read unique identifier associated with tag  "LT-103"`},
		{request(three, 700, "05"), "primary → LT-103 (3)  command 700  data 05"},
	} {
		m := c.say(step.f, nil)
		if got := view.Sentence(m); got != step.want {
			t.Errorf("message %d\ngot  %s\nwant %s", m.Number, got, step.want)
		}
	}
}

func TestSentenceWithResponseTime(t *testing.T) {
	c := conversation{t: t}
	c.say(request(three, 1, ""), &exchange.Span{Known: true, End: 100 * time.Millisecond})
	m := c.say(reply(three, 1, "0c 41 c7 47 ae"), &exchange.Span{Known: true, Begin: 151600 * time.Microsecond})
	if got, want := view.Sentence(m), "polling address 3 → primary  24.91 kPa  after 52 ms"; got != want {
		t.Errorf("\ngot  %s\nwant %s", got, want)
	}
}

// A reply whose device has not told its revision says so where another revision has
// another layout.
func TestSentenceOfAnAssumedRevision(t *testing.T) {
	c := conversation{t: t}
	for _, step := range []struct {
		f         frame.Frame
		want      string
		explained string
	}{
		{reply(three, 6, "03"), "polling address 3 → primary  3  (revision 5 assumed)", "read as in revision 5, which is assumed"},
		{reply(three, 6, "03 00"), "polling address 3 → primary  polling address 3, loop current mode 0 (disabled)  (revision 7 assumed)", "read as in revision 7, which is assumed"},
		{reply(three, 1, "0c 41 c7 47 ae"), "polling address 3 → primary  24.91 kPa", ""},
		{request(three, 6, "03"), "primary → polling address 3  write polling address  3", ""},
	} {
		m := c.say(step.f, nil)
		if got := strings.TrimSuffix(view.Sentence(m), "  (nobody asked)"); got != step.want {
			t.Errorf("message %d\ngot  %s\nwant %s", m.Number, got, step.want)
		}
		if got := view.Explain(m); !strings.Contains(got, step.explained) || step.explained == "" && strings.Contains(got, "assumed") {
			t.Errorf("message %d: got\n%swant %s", m.Number, got, step.explained)
		}
	}
}

// What damage and noise are called; the characters are those of the vectors.
func TestSentencesOfTrouble(t *testing.T) {
	want := map[string]string{
		"address-parity":      "damage: frame at byte 5: address at byte 6 has a parity error: 02 83 03 00 82",
		"count-one-in-reply":  "damage: frame at byte 5: byte count at byte 8 leaves no room for the two status bytes of a reply: 06 83 01 01 07 82",
		"delimiter-unknown-3": "noise: frame at byte 5: delimiter at byte 5 has an unknown frame type: 03 83 03 00 83",
		"preamble-none":       "noise: 5 characters: 02 83 03 00 82",
		"preamble-only":       "8 FF and nothing behind them",
		"preamble-missing-noise-300": "noise: 256 characters: 11 11 11 11 11 11 11 11 11 11 11 11 11 11 11 11 " +
			"11 11 11 11 11 11 11 11 11 11 11 11 11 11 11 11 … and 224 more",
	}
	for _, v := range readVectors(t) {
		sentence, ok := want[v.Name]
		if !ok {
			continue
		}
		delete(want, v.Name)
		first := ""
		eachMessage(v, false, func(m *exchange.Message) {
			if first == "" {
				first = view.Sentence(m)
			}
		})
		if first != sentence {
			t.Errorf("%s\ngot  %s\nwant %s", v.Name, first, sentence)
		}
	}
	for name := range want {
		t.Errorf("no vector %s", name)
	}
}
