package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/exchange/findings"
)

// A foundObject is what decode --findings --json says of a rule and a host.
type foundObject struct {
	Master, Rule, Says, Verdict, Source string
	Advice                              bool
	Kept, Broken                        int64
	InDoubt                             int64 `json:"in_doubt"`
	Examples                            []struct{ N int }
}

// foundIn is what is found in a capture, and how decode ends when it is strict.
func foundIn(t *testing.T, text []byte) (all []foundObject, ended error) {
	t.Helper()
	out, _, ended := decoded(t, decodeOptions{findings: true, json: true, strict: true}, text)
	for line := range strings.Lines(out) {
		var o foundObject
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		all = append(all, o)
	}
	return all, ended
}

// hostCaptures are the constructed captures of hosts, by their names.
func hostCaptures(t testing.TB) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob("../../testdata/captures/host-*.txt")
	if err != nil || len(names) < 25 {
		t.Fatalf("%d captures of hosts, %v", len(names), err)
	}
	captures := map[string][]byte{}
	for _, name := range names {
		if captures[filepath.Base(name)], err = os.ReadFile(name); err != nil {
			t.Fatal(err)
		}
	}
	return captures
}

// finds is the line of a capture that tells what is to be found in it.
var finds = regexp.MustCompile(`(?m)^# finds: (?:nothing|(broken|advice) (.+) (\d+), message (\d+)) \*`)

// Each capture tells what its host breaks, and nothing else is found. The times in
// it, and the sums beside them, were worked out apart from this program.
func TestHosts(t *testing.T) {
	kept, broken := map[string]bool{}, map[string]bool{}
	for name, text := range hostCaptures(t) {
		t.Run(name, func(t *testing.T) {
			want := finds.FindSubmatch(text)
			if want == nil {
				t.Fatal("the capture does not tell what is to be found")
			}
			all, ended := foundIn(t, text)
			said := ""
			for _, o := range all {
				kept[o.Rule] = kept[o.Rule] || o.Kept > 0
				broken[o.Rule] = broken[o.Rule] || o.Broken > 0
				if o.Broken > 0 {
					said += fmt.Sprintf("%s %s %d, message %d;", o.Verdict, o.Rule, o.Broken, o.Examples[0].N)
				}
				if o.InDoubt > 0 || o.Source == "" || o.Says == "" || o.Advice != (o.Verdict == "advice" || o.Rule == "first preambles" || o.Rule == "retries") {
					t.Errorf("%+v", o)
				}
			}
			if should := string(bytes.Join(want[1:], []byte("|"))); should != "|||" {
				should = fmt.Sprintf("%s %s %s, message %s;", want[1], want[2], want[3], want[4])
				if said != should {
					t.Errorf("found %q, want %q", said, should)
				}
			} else if said != "" {
				t.Errorf("found %q, want nothing", said)
			}
			if strict := errors.Is(ended, errNotInOrder); bytes.HasPrefix(want[1], []byte("broken")) && !strict {
				t.Errorf("ends with %v, want it to be not in order", ended)
			}
		})
	}
	for r := range findings.Retries + 1 {
		if !broken[r.String()] || !kept[r.String()] && r != findings.SameMaster {
			t.Errorf("%v: kept in a capture %v, broken in one %v", r, kept[r.String()], broken[r.String()])
		}
	}
}

// Without times, without a word of the way here, and through a modem, less can be
// told: nothing is kept or broken more often than with all that can be seen.
func TestLessIsSeen(t *testing.T) {
	timed := []string{"gap", "link quiet", "link grant", "hold", "burst turn", "time-out", "overlap", "same master"}
	plain := regexp.MustCompile(`(?m)^[\d.]+ \d |[pg]\b| \*....$|^[!#l].*$`)
	for name, text := range hostCaptures(t) {
		full, _ := foundIn(t, text)
		for way, less := range map[string][]byte{
			"modem":  resealed(bytes.ReplaceAll(text, []byte(" via=wire"), []byte(" via=modem"))),
			"late":   resealed(bytes.ReplaceAll(text, []byte(" late=0"), []byte(" late=0.016"))),
			"pipe":   resealed(bytes.ReplaceAll(text, []byte(" via=wire"), []byte(" via=pipe"))),
			"untold": resealed(bytes.ReplaceAll(text, []byte(" parity=visible via=wire"), nil)),
			"hex":    plain.ReplaceAll(text, nil),
		} {
			if way == "hex" && bytes.Contains(text, []byte("! stream 1")) {
				continue // who is on which stream is no part of hex text
			}
			some, _ := foundIn(t, less)
			for _, o := range some {
				i := slices.IndexFunc(full, func(f foundObject) bool { return f.Master == o.Master && f.Rule == o.Rule })
				switch {
				case i < 0 || o.Broken > full[i].Broken:
				case way == "hex": // which has no marks either, so damage is whole
					if !slices.Contains(timed, o.Rule) || o.Kept+o.Broken == 0 {
						continue
					}
				case o.Kept <= full[i].Kept:
					continue
				}
				t.Errorf("%s, %s: %+v\nwith all that can be seen: %+v", name, way, o, full[max(i, 0)])
			}
			if len(some) != len(full) {
				t.Errorf("%s, %s: %d findings, want %d", name, way, len(some), len(full))
			}
		}
	}
}

// resealed has the CRCs of a capture file right again.
func resealed(text []byte) []byte {
	var lines []string
	for line := range bytes.Lines(text) {
		lines = append(lines, string(line[:bytes.LastIndex(line, []byte(" *"))]))
	}
	return sealed(0xffff, lines...)
}

// FuzzFindings: whatever a capture holds, judging it ends, and every request is
// counted once.
func FuzzFindings(f *testing.F) {
	for _, text := range hostCaptures(f) {
		f.Add(text)
	}
	f.Add([]byte("ff ff 02 80 01 00 83"))
	f.Fuzz(func(t *testing.T, text []byte) {
		p := newFindingsPrinter(io.Discard, true, false)
		d := &decoding{in: inputs{ctx: context.Background(), stdin: bytes.NewReader(text), stdout: io.Discard, stderr: io.Discard}}
		counter := &requestCounter{findingsPrinter: p}
		if d.decode([]string{"-"}, counter) != nil {
			return
		}
		for _, found := range p.judge.Findings() {
			n := found.Kept + found.Broken + found.InDoubt + found.NotMeasurable
			whole := counter.whole[found.Primary]
			switch found.Rule {
			case findings.Preambles:
				if n != whole+counter.bare[found.Primary] {
					t.Errorf("%d requests were looked at for preambles, want %d and %d", n, whole, counter.bare[found.Primary])
				}
			case findings.BurstBit:
				if n != whole {
					t.Errorf("%v: %d cases of %d requests", found.Rule, n, whole)
				}
			case findings.TimeOut, findings.LinkQuiet, findings.LinkGrant, findings.Hold, findings.BurstTurn, findings.ShortFrame:
				if n > whole {
					t.Errorf("%v: %d cases of %d requests", found.Rule, n, whole)
				}
			}
		}
	})
}

// requestCounter counts the whole requests that are judged, and those that nobody
// hears.
type requestCounter struct {
	*findingsPrinter
	whole, bare map[bool]int64
}

func (c *requestCounter) message(m *heardMessage) {
	if c.whole == nil {
		c.whole, c.bare = map[bool]int64{}, map[bool]int64{}
	}
	if primary, ok := findings.Asker(&m.Message); ok && !m.torn && m.EchoOf == 0 && m.Unanswered == 0 {
		switch m.Outcome {
		case frame.Whole:
			c.whole[primary]++
		case frame.Noise:
			c.bare[primary]++
		}
	}
	c.findingsPrinter.message(m)
}
