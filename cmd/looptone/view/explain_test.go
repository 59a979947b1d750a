package view_test

import (
	"strings"
	"testing"

	"looptone/cmd/looptone/view"
	"looptone/frame"
)

// sentences are the lines under the strip, without the bytes in front.
func sentences(explained string) (said []string) {
	for line := range strings.Lines(explained) {
		if first, _, _ := strings.Cut(strings.TrimSpace(line), " "); len(first) == 2 && !strings.ContainsAny(first, "┌│└") {
			_, s, _ := strings.Cut(strings.TrimSpace(line), "  ")
			said = append(said, strings.TrimSpace(s))
		}
	}
	return said
}

// A published request taken apart, as a whole.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
func TestExplainPublishedRequest(t *testing.T) {
	c := conversation{t: t}
	const want = `  ┌───────────┬───────────┬─────────┬─────────┬────────────┬────────────┐
  │ ff ff     │ 02        │ 80      │ 01      │ 00         │ 83         │
  │ preambles │ delimiter │ address │ command │ byte count │ check byte │
  └───────────┴───────────┴─────────┴─────────┴────────────┴────────────┘
  ff ff  preambles: 2 of them let the receiver settle; it starts on two
  02     delimiter: a request of a master (STX) with a polling address of one byte
  80     address: polling address 0; top bit: primary master
  01     command: number 1, read primary variable
  00     byte count: 0 bytes stand between this one and the check byte
  83     check byte: the exclusive or of all bytes from the delimiter on; it is right
`
	if got := view.Explain(c.say(request(frame.Polling(0), 1, ""), nil)); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// The sentences that are particular to a message; all are constructed.
func TestExplainSays(t *testing.T) {
	burst := reply(device5, 1, "0c 41 c8 00 00")
	burst.Kind, burst.Burst, burst.Primary = frame.BACK, true, false
	strange := request(three, 1, "")
	strange.Physical, strange.Expansion = 1, []byte{7, 8}
	for _, tt := range []struct {
		name string
		f    frame.Frame
		want []string
	}{
		{"a burst", burst, []string{
			"delimiter: a burst of a device that was not asked (BACK) with a unique address of five bytes",
			"address: device type 3901, device ID 000007; top bit: secondary master; the device is in burst mode",
			"unit: of primary variable: kPa", "primary variable: 25 kPa"}},
		{"another physical layer and expansion bytes", strange, []string{
			"delimiter: a request of a master (STX) with a polling address of one byte, physical layer type 1, which is not FSK",
			"expansion: a device that does not know all of these bytes stays silent"}},
		{"to all", request(frame.Broadcast, 11, "31 4b 71 c3 38 20"), []string{
			"address: all devices; top bit: primary master", `tag: "LT-103"`}},
		{"status", answered(reply(three, 1, ""), 32, frame.ColdStart), []string{
			"byte count: 2 bytes stand between this one and the check byte", "response: code 32, busy", "status: cold start"}},
		{"communication errors", answered(reply(three, 1, ""), frame.FramingError.Response(), 0), []string{
			"response: the device heard the request with errors: framing", "status: nothing to report"}},
		{"one byte", request(three, 6, "05"), []string{
			"byte count: 1 byte stands between this one and the check byte", "command: number 6, write polling address"}},
		{"an unknown command", request(three, 146, "01 02"), []string{
			"command: number 146, of which nothing is known here", "data: not known here what they mean"}},
		{"an extended command", request(three, 700, "05"), []string{
			"command: the number of the command leads the data",
			"extended command: number 700, of which nothing is known here", "data: not known here what they mean"}},
		{"an extended number that names a short command", request(three, 31, "00 03"), []string{
			"extended command: number 3, read dynamic variables and loop current"}},
		{"data of an error reply", answered(reply(three, 1, "39 41 c8 00 00"), 5, 0), []string{
			"response: code 5, too few data bytes", "data: not known here what they mean"}},
		{"two fields of one byte", reply(three, 0, "fe f9 01 05 05 01 01 0a 01 00 00 07"), []string{
			"hardware revision, physical signalling: 1; 2 (RS-485)", "flags: multi-sensor device", "device id: 7"}},
		{"a slot", reply(three, 9, "00 f6 40 20 41 c8 00 00 c0 00 00 00 20"), []string{
			"slot 0 device variable code: 246 (primary variable)", "unit: of device variable value: °C",
			"slot 0 device variable value: 25 °C", "time stamp: 0.001 s"}},
	} {
		c := conversation{t: t}
		explained := view.Explain(c.say(tt.f, nil))
		said := strings.Join(sentences(explained), "\n") + "\n"
		for _, want := range tt.want {
			if !strings.Contains(said, want+"\n") {
				t.Errorf("%s: no sentence %q in\n%s", tt.name, want, said)
			}
		}
	}
}

// Long messages break into strips of at most 96 columns behind a margin of two.
func TestExplainBreaksStrips(t *testing.T) {
	c := conversation{t: t}
	explained := view.Explain(c.say(reply(three, 0, identity7), nil))
	if n := strings.Count(explained, "┌"); n < 3 {
		t.Errorf("%d strips, want several\n%s", n, explained)
	}
	for line := range strings.Lines(explained) {
		if strings.ContainsAny(line, "┌│└") && len([]rune(line)) > 2+96+1 {
			t.Errorf("a strip of %d columns\n%s", len([]rune(line))-1, line)
		}
	}
}
