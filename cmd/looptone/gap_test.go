package main

import (
	"slices"
	"strings"
	"testing"
)

// Published request and reply of command 1.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
const (
	ask   = "ff ff 02 80 01 00 83"
	reply = "ff ff 06 80 01 07 00 00 39 41 c8 00 00 30"
)

// saidOf is what decode says of a capture file with one stream, around some lines.
func saidOf(t *testing.T, o decodeOptions, lines ...string) (stdout, stderr string) {
	t.Helper()
	return saidOfStreams(t, o, append([]string{`! stream 0 "loop" times=start`}, lines...)...)
}

// saidOfStreams is the same around what the lines tell of streams.
func saidOfStreams(t *testing.T, o decodeOptions, lines ...string) (stdout, stderr string) {
	t.Helper()
	lines = append(append([]string{"looptone capture 1"}, lines...), "! end")
	stdout, stderr, err := decoded(t, o, sealed(0xffff, lines...))
	if err != nil {
		t.Fatal(err)
	}
	return stdout, stderr
}

func checkOutput(t *testing.T, got, want string) {
	t.Helper()
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// A request is unanswered when the recording goes on without a reply, even where
// nothing else is heard.
func TestRecordingThatGoesOn(t *testing.T) {
	asked := []string{"0 0 carrier on", "0.01 0 " + ask, "0.08 0 carrier off"}
	const said = "    0.028 s  primary → polling address 0  read primary variable\n"
	const silent = "  100.000 s  polling address 0 does not answer primary  read primary variable  within 99926 ms\n"
	for _, tt := range []struct {
		name string
		more []string
		want string
	}{
		{"it ends at once", nil, said},
		{"it ends before a reply had to come", []string{"1 0 carrier on"}, said},
		{"the carrier goes on", []string{"100 0 carrier on"}, said + silent},
		{"characters are lost behind that", []string{"100 0 carrier on", "101 0 lost 3"}, said + silent},
		{"characters are lost before that", []string{"101 0 lost 3"}, said},
		{"the file is damaged before that", []string{"! hole", "100 0 carrier on"}, said},
		{"it is answered", []string{"0.1 0 carrier on", "0.11 0 " + reply, "100 0 carrier on"}, said + "    0.128 s  polling address 0 → primary  25 %  after 36 ms\n"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			out, _ := saidOf(t, decodeOptions{}, append(asked, tt.more...)...)
			checkOutput(t, out, tt.want)
		})
	}
}

// Nothing is paired across the end of a recording.
func TestNoReplyFromAnotherRecording(t *testing.T) {
	out, _ := saidOf(t, decodeOptions{}, "0 0 "+ask, "! end",
		"looptone capture 1", `! stream 0 "loop" times=start`, "0 0 "+reply)
	checkOutput(t, out, `    0.018 s  primary → polling address 0  read primary variable
    0.082 s  polling address 0 → primary  25 %
`)
}

// Times that run backwards are damage of the file, with no response time across it.
func TestTimesThatRunBackwards(t *testing.T) {
	out, told := saidOf(t, decodeOptions{}, "5 0 "+ask, "1 0 "+reply, "1.2 0 "+ask)
	checkOutput(t, out, `    5.018 s  primary → polling address 0  read primary variable
    1.018 s  polling address 0 → primary  25 %
    1.218 s  primary → polling address 0  read primary variable
`)
	if !strings.Contains(told, "trace.txt:4:1: time lies before that of the line in front of it on this stream") {
		t.Error(told)
	}
}

// What a hole excuses, it excuses of each master once, and bursts do not count.
func TestExcusedReplies(t *testing.T) {
	const toSecondary = "ff ff 06 00 01 07 00 00 39 41 c8 00 00 b0" // constructed: the published one without the primary master's bit
	const burst = "ff ff 01 80 01 07 00 00 39 41 c8 00 00 37"       // constructed
	for _, tt := range []struct {
		name  string
		lines []string
		want  []int // lines of the output that nobody asked for
	}{
		{"of the primary master", []string{reply, reply}, []int{1}},
		{"of the secondary master", []string{toSecondary, toSecondary}, []int{1}},
		{"of both", []string{reply, toSecondary, toSecondary, reply}, []int{2, 3}},
		{"behind a burst", []string{burst, reply}, nil},
		{"behind a request", []string{ask, reply, reply}, []int{2}},
		{"behind a request of the other", []string{ask, toSecondary, toSecondary}, []int{3}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			lines := []string{"! hole"}
			for i, chars := range tt.lines {
				lines = append(lines, string(rune('0'+i))+" 0 "+chars)
			}
			out, _ := saidOf(t, decodeOptions{}, lines...)
			var unasked []int
			for i, line := range strings.Split(out, "\n") {
				if strings.Contains(line, "(nobody asked)") {
					unasked = append(unasked, i)
				}
			}
			if !slices.Equal(unasked, tt.want) {
				t.Errorf("unasked are %v, want %v\n%s", unasked, tt.want, out)
			}
		})
	}
}

// What is torn beside lost characters is no damage, until the carrier tells that
// something else begins.
func TestTornBehindLostCharacters(t *testing.T) {
	const wrong = "ff ff 02 80 01 00 84"
	out, _ := saidOf(t, decodeOptions{}, "0 0 "+ask, "1 0 lost 3", "1.1 0 01 00", "3 0 "+wrong)
	checkOutput(t, out, `    0.018 s  primary → polling address 0  read primary variable
    1.100 s  2 characters beside what the capture has lost: 01 00
    3.018 s  damage: frame at byte 11: check byte at byte 15 does not match (got 84, want 83): 02 80 01 00 84  (line 6, column 23)
`)
	for _, hole := range []string{"! hole", "0.9 0 lost 3"} {
		out, _ = saidOf(t, decodeOptions{}, "0 0 "+ask, hole, "1 0 carrier on", "1.1 0 "+wrong)
		if want := "    1.118 s  damage: frame at byte 9: "; !strings.Contains(out, want) {
			t.Errorf("behind %s: got\n%s\nwant %s", hole, out, want)
		}
	}
}

// A reader of JSON lines learns that the file has holes, in the order of numbers.
func TestLostInJSON(t *testing.T) {
	out, _ := saidOf(t, decodeOptions{json: true}, "! started 2031-03-01T03:10:07+01:00", "0 0 "+ask, "1 0 lost 17", "! hole", "2 0 "+ask)
	var got []string
	for line := range strings.Lines(out) {
		if !strings.Contains(line, `"event":"frame"`) {
			got = append(got, line)
		}
	}
	checkOutput(t, strings.Join(got, ""), `{"n":2,"event":"lost","stream":0,"start":7,"preambles":0,"time":1,"at":"2031-03-01T03:10:08+01:00","characters":17}
{"n":3,"event":"lost","stream":0,"start":7,"preambles":0,"place":{"file":"`+fileOf(t, out)+`","line":6,"column":3},"text":"\"hole\" is not known: want started, stream or end behind \"!\""}
`)
	if !strings.Contains(out, `{"n":4,"event":"frame"`) {
		t.Errorf("no frame 4\n%s", out)
	}
}

// fileOf is the file that JSON lines tell first.
func fileOf(t *testing.T, out string) string {
	t.Helper()
	_, rest, ok := strings.Cut(out, `"file":"`)
	name, _, ended := strings.Cut(rest, `"`)
	if !ok || !ended {
		t.Fatalf("no file in\n%s", out)
	}
	return name
}
