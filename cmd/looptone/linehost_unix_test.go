//go:build unix

package main_test

import (
	"encoding/hex"
	"encoding/json"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestTimingHostThatBreaksRules: a host outside sends three preambles, asks for a
// value by polling address, and leaves the other master no time. All of that is
// found, and nothing of the master that is simulated, whose turns it does not take.
func TestTimingHostThatBreaksRules(t *testing.T) {
	said := filepath.Join(t.TempDir(), "said")
	out, err := os.Create(said)
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	line := named + quickAndSlow + `
[[master]]
kind = "primary"
poll = [ { device = "TT-2", command = 3, every = "30s" } ]
`
	address, finish := listening(t, out, 3, lineFile(t, line), "--findings", "--strict", "--json")
	host, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	defer host.Close()
	listen(t, host, 2*time.Second) // until the primary master has asked
	for _, request := range []string{
		"ffffff 02 04 00 00 06",                           // command 0 to polling address 4, of the secondary master
		"ffffff 02 04 01 00 07 ffffffffff 02 04 00 00 06", // command 1, which nobody answers there
	} {
		chars, err := hex.DecodeString(strings.ReplaceAll(request, " ", ""))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := host.Write(chars); err != nil {
			t.Fatal(err)
		}
		listen(t, host, 46*time.Millisecond) // five characters
	}
	finish()
	broken, judged := map[string]bool{}, map[string]bool{}
	text, err := os.ReadFile(said)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(string(text), "\n") {
		var f struct{ Master, Rule, Verdict string }
		if !strings.HasPrefix(line, `{"finding":`) {
			continue
		}
		if err := json.Unmarshal([]byte(line), &f); err != nil {
			t.Fatal(err)
		}
		judged[f.Master] = true
		broken[f.Rule] = broken[f.Rule] || f.Verdict == "broken"
	}
	for _, rule := range []string{"preambles", "short frame", "link grant"} {
		if !broken[rule] {
			t.Errorf("%q was not found to be broken: %v", rule, broken)
		}
	}
	if len(judged) != 1 || !judged["secondary"] {
		t.Errorf("judged were %v, want the secondary master alone", judged)
	}
}

// listen reads until something has come and then, for so long, nothing more.
func listen(t *testing.T, host net.Conn, quiet time.Duration) {
	t.Helper()
	heard := 0
	for wait := 20 * time.Second; ; wait = quiet {
		host.SetReadDeadline(time.Now().Add(wait))
		n, err := host.Read(make([]byte, 300))
		if heard += n; os.IsTimeout(err) && heard > 0 {
			return
		}
		if err != nil {
			t.Fatalf("%v behind %d characters", err, heard)
		}
	}
}
