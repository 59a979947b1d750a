package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/sim"
	"looptone/sim/master"
)

// hostOn is a host on a simulated line that a text describes.
func hostOn(t *testing.T, text string) *host {
	t.Helper()
	file := filepath.Join(t.TempDir(), "line.toml")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	a, _, err := assemble(file, nil)
	if err != nil {
		t.Fatal(err)
	}
	return &host{name: a.Name, assembly: a, config: master.Config{Primary: true}}
}

// thermometers is a line of so many devices at the polling addresses from 1 on, and
// what is done there.
func thermometers(n int, more string) string {
	var b strings.Builder
	b.WriteString("[line]\nname = \"test\"\n")
	for i := 1; i <= n; i++ {
		fmt.Fprintf(&b, `
[[device]]
tag = "TT-%d"
polling = %d
kind = "temperature"
sensor = { lower = 0.0, upper = 100.0, unit = "°C" }
range = { lower = 0.0, upper = 100.0, unit = "°C" }
process = { model = "constant", value = 20.0 }
`, i, i)
	}
	b.WriteString(more)
	return b.String()
}

// watched scans a line over and over in line time, and gives what it told as lines
// "event polling tag", with what was before.
func watched(t *testing.T, text string, o scanOptions, length sim.Tick) (told []string) {
	t.Helper()
	o.json = true
	var out bytes.Buffer
	w := newWatching(&o, hostOn(t, text), &out, io.Discard)
	defer w.vigil.Close()
	if err := w.vigil.runFast(t.Context(), length); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(out.String()) {
		var s struct {
			Event      string
			Polling    int
			Tag        string
			Unreadable bool
			Time       *float64
			Was        *struct {
				Polling int
				Tag     string
			}
		}
		if err := json.Unmarshal([]byte(line), &s); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		if (s.Event == "") != (s.Time == nil) {
			t.Errorf("what is told later has a time, what was there has none: %s", line)
		}
		text := strings.TrimSpace(fmt.Sprint(s.Event, " ", s.Polling, " ", s.Tag))
		if s.Unreadable {
			text += " unreadable"
		}
		if s.Was != nil {
			text += fmt.Sprintf(" (%d %s)", s.Was.Polling, s.Was.Tag)
		}
		told = append(told, text)
	}
	return told
}

func TestWatchTellsWhatComesAndGoes(t *testing.T) {
	tests := []struct{ name, done string }{
		{"a device goes and comes back", `
[[at]]
time = "13s"
mute = "TT-2"
[[at]]
time = "35s"
unmute = "TT-2"
`},
		{"a polling address changes, ahead of the scan and behind it", `
[[at]]
time = "13s"
set = "TT-1.polling"
to = 4
[[at]]
time = "35s"
set = "TT-1.polling"
to = 0
`},
		{"a device moves where nobody looks", `
[[at]]
time = "13s"
set = "TT-1.polling"
to = 12
`},
		{"one reply in four is lost", `
[[fault]]
kind = "no reply"
device = "TT-2"
probability = 0.25
`},
	}
	want := [][]string{
		{"1 TT-1", "2 TT-2", "3 TT-3", "went 2 TT-2", "came 2 TT-2"},
		{"1 TT-1", "2 TT-2", "3 TT-3", "changed 4 TT-1 (1 TT-1)", "changed 0 TT-1 (4 TT-1)"},
		{"1 TT-1", "2 TT-2", "3 TT-3", "went 1 TT-1"},
		{"1 TT-1", "2 TT-2", "3 TT-3"},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := watched(t, thermometers(3, tt.done), scanOptions{to: 5, retries: 2}, 60*sim.Second)
			if diff := cmp.Diff(want[i], got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

// A master cannot know who shares an address; when one goes, the other is there.
func TestWatchTellsOfASharedAddress(t *testing.T) {
	text := thermometers(2, "[[at]]\ntime = \"8s\"\nmute = \"TT-2\"\n")
	text = strings.Replace(text, "polling = 2", "polling = 1\nallow_duplicate = true\nlatency_ms = 41", 1)
	got := watched(t, text, scanOptions{from: 1, to: 1, retries: 2}, 30*sim.Second)
	if diff := cmp.Diff([]string{"1 unreadable", "came 1 TT-1", "went 1 unreadable"}, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

// With a period a scan begins at each multiple of it, and the line is silent between.
func TestWatchKeepsItsPeriod(t *testing.T) {
	h := hostOn(t, thermometers(1, ""))
	var asked []sim.Tick
	o := scanOptions{from: 1, to: 1, json: true}
	o.watch.span = 10e9
	w := newWatching(&o, h, io.Discard, io.Discard)
	defer w.vigil.Close()
	h.assembly.Line.Log(func(talker *sim.Seat, b *sim.Burst) {
		const unknown, firstByte, command = 20, 0, 2 // preambles; offsets of a request with a polling address
		if c := b.Chars; len(c) > unknown+command && c[unknown+firstByte] == 0x02 && c[unknown+command] == 0 {
			asked = append(asked, b.At)
		}
	})
	if err := w.vigil.runFast(t.Context(), 35*sim.Second); err != nil {
		t.Fatal(err)
	}
	if len(asked) != 4 {
		t.Fatalf("%d scans in 35 s, want 4: %v", len(asked), asked)
	}
	for i, at := range asked[1:] {
		if late := at - sim.Tick(10*(i+1))*sim.Second; late < 0 || late > sim.Second/100 {
			t.Errorf("scan %d begins at %v", i+2, at.Duration())
		}
	}
}
