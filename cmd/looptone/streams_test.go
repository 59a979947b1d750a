package main

import (
	"slices"
	"strings"
	"testing"
)

var twoProbes = []string{`! stream 0 "at the host" times=start`, `! stream 1 "at the device" times=start`}

// What one of two probes hears damaged is told, and is no other request.
func TestDamageOnOneOfTwoStreams(t *testing.T) {
	heard := append(twoProbes, "0 0 "+ask, "0.001 1 ff ff 02 80 01 00 81", "0.1 0 "+reply, "0.101 1 "+reply)
	out, _ := saidOfStreams(t, decodeOptions{}, heard...)
	checkOutput(t, out, `    0.018 s  at the host  primary → polling address 0  read primary variable
    0.019 s  at the device  damage: frame at byte 2: check byte at byte 6 does not match (got 81, want 83): 02 80 01 00 81  (line 5, column 27)
    0.118 s  at the host  polling address 0 → primary  25 %  after 36 ms
`)
	objects, _ := saidOfStreams(t, decodeOptions{json: true}, heard...)
	if !strings.Contains(objects, `"n":2,"event":"damage","stream":1,`) || !strings.Contains(objects, `"bytes":"0280010081","also_heard":1,`) {
		t.Error(objects)
	}
	summary, _ := saidOfStreams(t, decodeOptions{summary: true}, heard...)
	if want := "21 characters on the line, in use 84.7 % of 228ms\n1 request: 1 of the primary master, 0 of the secondary\n1 answered\n"; !strings.HasPrefix(summary, want) {
		t.Errorf("got\n%s\nwant %s", summary, want)
	}
}

// A stream that is described as late is late: its echo is one, and what it says of
// times is given with what that may be wrong by.
func TestLateStream(t *testing.T) {
	out, _ := saidOfStreams(t, decodeOptions{}, `! stream 0 "host" times=end`, `! stream 1 "loop" times=end late=0.5`,
		"0.1 0 "+ask, "0.5 1 "+ask, "0.6 1 "+reply)
	checkOutput(t, out, `    0.054 s  host  primary → polling address 0  read primary variable
    0.490 s  loop  polling address 0 → primary  25 %  after 372 ms ± 500 ms
`)
	objects, _ := saidOfStreams(t, decodeOptions{json: true}, `! stream 0 "loop" times=start late=0.016`, "0 0 "+ask, "0.1 0 "+reply)
	if want := `"response_time":0.035833,"response_time_uncertainty":0.016}`; !strings.Contains(objects, want) {
		t.Errorf("got\n%s\nwant %s", objects, want)
	}
	objects, _ = saidOfStreams(t, decodeOptions{json: true}, `! stream 0 "loop" times=start late=0.001`, "0 0 "+ask, "0.1 0 "+reply)
	if strings.Contains(objects, "uncertainty") {
		t.Error(objects)
	}
}

// A stream without a description goes by its number; one alone needs no name.
func TestNamesOfStreams(t *testing.T) {
	out, _ := saidOfStreams(t, decodeOptions{}, `! stream 3 "loop" times=start`, "0 3 "+ask)
	checkOutput(t, out, "    0.018 s  primary → polling address 0  read primary variable\n")
	out, _ = saidOfStreams(t, decodeOptions{}, `! stream 3 "loop" times=start`, "0 3 "+ask, "1 5 "+reply)
	checkOutput(t, out, `    0.018 s  primary → polling address 0  read primary variable
line 4     stream 5  polling address 0 → primary  25 %
`)
}

// The events of a stream wait only for characters that are not delivered yet, and
// that began before them.
func TestNobodyWaitsForWhatComesLater(t *testing.T) {
	for _, tt := range []struct {
		lines  []string
		events int
	}{
		{[]string{"0 0 " + ask, "0 1 " + ask, "1 0 " + ask}, 3},
		{[]string{"0 0 ff ff 02 80", "0.0367 1 ff ff 02", "0.036667 0 01 00 83"}, 1},
		{[]string{"0 1 ff ff 02", "0.01 0 " + ask}, 0},
	} {
		to := &heardOrder{}
		l := listening{to: to}
		lines := slices.Concat([]string{"looptone capture 1"}, twoProbes, tt.lines, []string{"! end"})
		feedLines(t, &l, sealed(0xffff, lines...))
		if len(to.streams) != tt.events {
			t.Errorf("%q: %d events are through before the end, want %d", tt.lines, len(to.streams), tt.events)
		}
	}
}

// An unanswered request is one of the stream that it was heard on, whatever another
// one hears of it.
func TestStreamOfTheUnanswered(t *testing.T) {
	out, _ := saidOfStreams(t, decodeOptions{}, append(twoProbes, "0 0 "+ask, "0.001 1 "+ask, "100 0 carrier on")...)
	checkOutput(t, out, `    0.018 s  at the host  primary → polling address 0  read primary variable
  100.000 s  at the host  polling address 0 does not answer primary  read primary variable  within 99936 ms
`)
}

// While another stream holds characters, nobody knows whether they are the reply.
func TestNobodyIsSilentWhileCharactersWait(t *testing.T) {
	out, _ := saidOfStreams(t, decodeOptions{}, append(twoProbes, "0 0 "+ask, "0.1 1 ff ff 06 80 01 07 00 00", "3 0 carrier on", "3.1 0 lost 5",
		"0.1734 1 39 41 c8 00 00 30")...)
	if strings.Contains(out, "does not answer") {
		t.Error(out)
	}
}

// A summary counts what passes the filter; replies are paired with requests that do
// not.
func TestSummaryOfSome(t *testing.T) {
	lines := []string{"0 0 " + ask, "0.1 0 " + reply, "1 0 " + ask, "1.1 0 " + reply, "2 0 " + ask}
	for _, tt := range []struct {
		filter filterFlags
		want   string
	}{
		{filterFlags{kind: "ACK"}, "28 characters on the line, "},
		{filterFlags{from: "1.1"}, "1 request: 1 of the primary master, 0 of the secondary\n1 answered\n"},
		{filterFlags{kind: "ACK"}, "response times 36 to 36 ms"},
		{filterFlags{damaged: true}, "0 characters on the line\n0 requests"},
	} {
		out, _ := saidOf(t, decodeOptions{summary: true, filterFlags: tt.filter}, lines...)
		if !strings.HasPrefix(out, "counted is only what passes the filter\n") || !strings.Contains(out, tt.want) {
			t.Errorf("%+v: got\n%s\nwant %s", tt.filter, out, tt.want)
		}
	}
}

// A table has its columns named even where no value passes.
func TestTableWithoutRows(t *testing.T) {
	out, _ := saidOf(t, decodeOptions{csv: true, filterFlags: filterFlags{damaged: true}}, "0 0 "+ask)
	checkOutput(t, out, "time,device,variable,value,unit\n")
	out, _ = saidOf(t, decodeOptions{csv: true, wide: true, filterFlags: filterFlags{damaged: true}}, "0 0 "+ask)
	checkOutput(t, out, "time\n")
}
