package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/master"
)

func TestAskingsAreReadFromTheEnd(t *testing.T) {
	unique := master.Target{Address: frame.Unique(0xf902, 0x67)}
	tests := []struct {
		text    string
		device  master.Target
		command uint16
		data    string
		every   time.Duration
	}{
		{"LT-103:3:2s", master.Target{Tag: "LT-103"}, 3, "", 2 * time.Second},
		{"LT-103:3", master.Target{Tag: "LT-103"}, 3, "", 0},
		{"LT-103:0", master.Target{Tag: "LT-103"}, 0, "", 0},
		{"3:1:500ms", master.Target{Address: frame.Polling(3)}, 1, "", 500 * time.Millisecond},
		{"3902000067:9=0001f4:1m30s", unique, 9, "0001f4", 90 * time.Second},
		{"A:3:2s", master.Target{Tag: "A"}, 3, "", 2 * time.Second},
		{"A:3:2s:48", master.Target{Tag: "A:3:2s"}, 48, "", 0},
		{"Level: of:7:1:1s", master.Target{Tag: "Level: of:7"}, 1, "", time.Second},
	}
	for _, tt := range tests {
		a, err := parseAsking(tt.text)
		if err != nil || a.device != tt.device || a.command != tt.command || fmt.Sprintf("%x", a.data) != tt.data || a.every != tt.every {
			t.Errorf("%s: got %+v, %v", tt.text, a, err)
		}
	}
}

// Of data as many as a request carries are taken; the number of a command above 255 is
// two bytes of them.
func TestOrdersFitIntoARequest(t *testing.T) {
	for _, tt := range []struct {
		command string
		most    int
	}{{"9", 255}, {"300", 253}} {
		for _, n := range []int{tt.most, tt.most + 1} {
			_, err := parseOrder(tt.command + "=" + strings.Repeat("00", n))
			if want := fmt.Sprintf("data of %d bytes do not fit into a request", n); n > tt.most && (err == nil || err.Error() != want) || n <= tt.most && err != nil {
				t.Errorf("command %s: got %v with %d bytes", tt.command, err, n)
			}
		}
	}
}

// A schedule that fills the line is taken, one that asks for more is not. The time
// of a round comes from the master, as that knows it.
func TestLoadIsRefusedAboveAllOfTheTime(t *testing.T) {
	query := func(command uint16, every sim.Tick) master.Query {
		return master.Query{Device: master.Target{Tag: "LT-103"}, Command: command, Every: every}
	}
	once := shortest(query(3, 0)).Sum()
	tests := []struct {
		name     string
		schedule []master.Query
		fits     bool
	}{
		{"as often as there are turns", []master.Query{query(3, 0), query(1, 0)}, true},
		{"all of the time", []master.Query{query(3, once)}, true},
		{"a tick less", []master.Query{query(3, once-1)}, false},
		{"half of it each", []master.Query{query(3, 2*once), query(3, 2*once)}, true},
		{"a short and a long period", []master.Query{query(3, 2*once), query(3, 2*once), query(3, 1000*once)}, false},
		{"what has no period takes what is left", []master.Query{query(3, once), query(1, 0)}, true},
	}
	for _, tt := range tests {
		if err := checkLoad(tt.schedule); (err == nil) != tt.fits {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
}
