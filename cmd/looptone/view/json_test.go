package view_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
)

// sameJSON compares a line with one that was written by hand.
func sameJSON(t testing.TB, got, want string) {
	t.Helper()
	g, err := readJSON([]byte(got))
	if err != nil {
		t.Fatal(err)
	}
	w, err := readJSON([]byte(want))
	if err != nil {
		t.Fatalf("what is wanted: %v", err)
	}
	if d := cmp.Diff(w, g); d != "" {
		t.Errorf("(- want, + got)\n%s", d)
	}
}

// Whole lines of the vectors, whose files name their sources.
func TestLinesOfVectors(t *testing.T) {
	for name, want := range map[string]string{
		"published-request-command-1": `{"n":1,"event":"frame","stream":0,"start":2,"preambles":2,"frame":"0280010083",` +
			`"kind":"STX","address":{"polling":0},"master":"primary","burst_mode":false,"command":1,"name":"read primary variable",` +
			`"data":"","values":[]}`,
		"published-reply-command-1": `{"n":1,"event":"frame","stream":0,"start":2,"preambles":2,"frame":"0680010700003941c8000030",` +
			`"kind":"ACK","address":{"polling":0},"master":"primary","burst_mode":false,"command":1,"name":"read primary variable",` +
			`"response":{"code":0,"text":"success"},"device_status":[],"data":"3941c80000",` +
			`"values":[{"name":"primary variable","value":25,"unit":"%","unit_code":57}],"revision":7,"revision_assumed":true}`,
		"published-reply-set-point-50": `{"n":1,"event":"frame","stream":0,"start":2,"preambles":2,"frame":"068092070000014248000018",` +
			`"kind":"ACK","address":{"polling":0},"master":"primary","burst_mode":false,"command":146,` +
			`"response":{"code":0,"text":"success"},"device_status":[],"data":"0142480000","values":[]}`,
		"published-cut-inside-data": `{"n":1,"event":"damage","stream":0,"start":2,"preambles":2,"bytes":"06809207000000",` +
			`"kind":"ACK","address":{"polling":0},"master":"primary","command":146,` +
			`"error":{"field":"data","offset":9,"text":"end of input"}}`,
		"status-busy": `{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"frame":"86a6ad0c010203022000a3",` +
			`"kind":"ACK","address":{"unique":"26ad0c0102"},"master":"primary","burst_mode":false,"command":3,` +
			`"name":"read dynamic variables and loop current","response":{"code":32,"text":"busy"},"device_status":[],"data":"","values":[]}`,
		"status-communication-errors-all": `{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"frame":"86a6ad0c01020302fa0079",` +
			`"kind":"ACK","address":{"unique":"26ad0c0102"},"master":"primary","burst_mode":false,"command":3,` +
			`"name":"read dynamic variables and loop current","response":{"communication_errors":["vertical parity","overrun","framing",` +
			`"longitudinal parity","buffer overflow"]},"device_status":[],"data":"","values":[]}`,
		"delimiter-back": `{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"frame":"81e6ad0c0102010700000c41c8000046",` +
			`"kind":"BACK","address":{"unique":"26ad0c0102"},"master":"primary","burst_mode":true,"command":1,"name":"read primary variable",` +
			`"response":{"code":0,"text":"success"},"device_status":[],"data":"0c41c80000",` +
			`"values":[{"name":"primary variable","value":25,"unit":"kPa","unit_code":12}],"revision":7,"revision_assumed":true}`,
		"address-broadcast": `{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"frame":"8280000000000b063140f2cb1cf1aa",` +
			`"kind":"STX","address":{"unique":"0000000000","broadcast":true},"master":"primary","burst_mode":false,"command":11,` +
			`"name":"read unique identifier associated with tag","data":"3140f2cb1cf1",` +
			`"values":[{"name":"tag","value":"LTC22131"}],"revision":7,"revision_assumed":true}`,
		"command-extended-reply": `{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"frame":"86a6ad0c01021f060000020005079b",` +
			`"kind":"ACK","address":{"unique":"26ad0c0102"},"master":"primary","burst_mode":false,"command":512,"name":"read country code",` +
			`"response":{"code":0,"text":"success"},"device_status":[],"data":"02000507","values":[]}`,
		"command-extended-without-number": `{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"frame":"82a6ad0c01021f0099",` +
			`"kind":"STX","address":{"unique":"26ad0c0102"},"master":"primary","burst_mode":false,"command":31,"name":"extended command","data":"","values":[]}`,
		"delimiter-unknown-3": `{"n":1,"event":"noise","stream":0,"start":5,"preambles":5,"bytes":"0383030083",` +
			`"error":{"field":"delimiter","offset":5,"text":"unknown frame type"}}`,
		"preamble-none": `{"n":1,"event":"noise","stream":0,"start":0,"preambles":0,"bytes":"0283030082"}`,
		"preamble-only": `{"n":1,"event":"noise","stream":0,"start":8,"preambles":8,"bytes":""}`,
	} {
		t.Run(name, func(t *testing.T) { sameJSON(t, ofVector(t, name), want) })
	}
}

// Times are of the delimiter, to the microsecond; reply_to and response_time
// stand in the reply. Published frames, times constructed.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
func TestLineWithTimesAndPlace(t *testing.T) {
	c := conversation{t: t}
	c.say(request(frame.Polling(0), 1, ""), &exchange.Span{Known: true, End: 100 * time.Millisecond})
	m := c.say(reply(frame.Polling(0), 1, "39 41 c8 00 00"), &exchange.Span{Known: true,
		Begin: 152345678 * time.Nanosecond, Start: 170 * time.Millisecond, End: 300 * time.Millisecond})
	m.Stream = 2
	got := new(view.JSON).Append([]byte("before"), m, &view.Position{File: "Füll \"stand\".txt", Line: 4, Column: 7})
	sameJSON(t, string(got[len("before"):]), `{"n":2,"event":"frame","stream":2,"start":9,"preambles":2,"time":0.17,`+
		`"place":{"file":"Füll \"stand\".txt","line":4,"column":7},"frame":"0680010700003941c8000030",`+
		`"kind":"ACK","address":{"polling":0},"master":"primary","burst_mode":false,"command":1,"name":"read primary variable",`+
		`"response":{"code":0,"text":"success"},"device_status":[],"data":"3941c80000",`+
		`"values":[{"name":"primary variable","value":25,"unit":"%","unit_code":57}],"revision":7,"revision_assumed":true,`+
		`"reply_to":1,"response_time":0.052346}`)
}

// All status bits at once, and a reply whose error byte names no error.
func TestLineOfStatus(t *testing.T) {
	c := conversation{t: t}
	m := c.say(answered(reply(three, 1, "39 41 c8 00 00"), 0x80, 0xff), nil)
	sameJSON(t, string(new(view.JSON).Append(nil, m, nil)), `{"n":1,"event":"frame","stream":0,"start":2,"preambles":2,"frame":"0683010780ff3941c800004c",`+
		`"kind":"ACK","address":{"polling":3},"master":"primary","burst_mode":false,"command":1,"name":"read primary variable",`+
		`"response":{"communication_errors":[]},"device_status":["device malfunction","configuration changed","cold start",`+
		`"more status available","loop current fixed","loop current saturated","non-primary variable out of limits",`+
		`"primary variable out of limits"],"data":"3941c80000","values":[]}`)
}

// A place is a line and a column, or a byte of a packet, or a sample.
func TestPlaces(t *testing.T) {
	for _, c := range []struct {
		place view.Position
		want  string
	}{
		{view.Position{File: "a", Line: 4, Column: 7}, `{"file":"a","line":4,"column":7}`},
		{view.Position{File: "a", Packet: 3, Byte: 0}, `{"file":"a","packet":3,"byte":0}`},
		{view.Position{File: "a", Sampled: true, Sample: 0}, `{"file":"a","sample":0}`},
	} {
		lost := view.Lost{Number: 1, Characters: 2, Place: &c.place}
		sameJSON(t, string(new(view.JSON).AppendLost(nil, &lost)), `{"n":1,"event":"lost","stream":0,"start":0,"preambles":0,"place":`+c.want+`,"characters":2}`)
	}
}
