package main_test

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// logged is the log of a simulation in line time, as the program writes it.
func logged(t *testing.T, args ...string) []byte {
	t.Helper()
	file := filepath.Join(t.TempDir(), "line.log")
	cmd := looptone(t, slices.Concat([]string{"sim"}, args, []string{"--log", file})...)
	if said, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %v\n%s", cmd.Args, err, said)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// looptone is the program as a process that has not started.
func looptone(t *testing.T, args ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Args = append([]string{"looptone"}, args...)
	return cmd
}

// TestDecodedLog: what decode makes of a log is what a receiver on the line has heard.
func TestDecodedLog(t *testing.T) {
	for _, line := range []string{"two-masters.toml", "multidrop-trap.toml", "long-line.toml"} {
		t.Run(line, func(t *testing.T) {
			t.Parallel()
			file := filepath.Join(t.TempDir(), "line.log")
			sim := looptone(t, "sim", "../../testdata/lines/"+line, "--fast", "2m", "--log", file, "--json")
			want, err := sim.Output()
			if err != nil {
				t.Fatal(err)
			}
			got, err := looptone(t, "decode", file, "--json").Output()
			if err != nil {
				t.Fatal(err)
			}
			decoded, heard := talk(t, got), talk(t, want)
			if n := len(decoded) - len(heard); len(heard) < 100 || n < 0 || n > 1 { // the log has what ends in its last moment
				t.Errorf("%d messages were decoded, and %d heard, want 100 at least", len(decoded), len(heard))
			}
			for i := range min(len(decoded), len(heard)) {
				if decoded[i] != heard[i] {
					t.Fatalf("decoded is\n%s\nheard was\n%s", decoded[i], heard[i])
				}
			}
		})
	}
}

// talk is what was said and when, of the JSON lines of decoding: not where it stands, nor
// what a simulation tells beside it.
func talk(t *testing.T, lines []byte) (said []string) {
	t.Helper()
	for line := range bytes.Lines(lines) {
		var o map[string]any
		if err := json.Unmarshal(line, &o); err != nil {
			t.Fatal(err)
		}
		if o["n"] == nil {
			continue
		}
		delete(o, "place")
		text, err := json.Marshal(o)
		if err != nil {
			t.Fatal(err)
		}
		said = append(said, string(text))
	}
	return said
}

// record is a log that was read.
func record(t *testing.T, text []byte) *lineRecord {
	t.Helper()
	rec, err := readRecord(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

// lineFile writes a line description.
func lineFile(t *testing.T, text string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "line.toml")
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// said is what the first of many breaches are.
func said(breaches []breach) string {
	var text []string
	for _, b := range breaches[:min(len(breaches), 10)] {
		text = append(text, b.String())
	}
	return strings.Join(text, "\n")
}

// cut is the log up to a number of carriers, so that a change in it can be judged
// quickly: the breaches of a part are those of the whole up to there.
func (rec *lineRecord) cut(from, n int) *lineRecord {
	part := &lineRecord{line: rec.line, seed: rec.seed, end: rec.end}
	for _, c := range rec.carriers[from:min(from+n, len(rec.carriers))] {
		c.Characters = slices.Clone(c.Characters)
		part.carriers = append(part.carriers, c)
	}
	return part
}

// move has a carrier begin some ticks later.
func (c *carrier) move(by int64) {
	c.On += by
	c.Off += by
	for i := range c.Characters {
		c.Characters[i].start += by
		c.Characters[i].end += by
	}
}

// turnMasterBit has a frame meant for the other master, with its check byte right.
func (c *carrier) turnMasterBit(t *testing.T) {
	f, err := frameOf(c)
	if err != nil {
		t.Fatal(err)
	}
	c.Characters[f.delimiter+1].value ^= 0x80
	c.Characters[len(c.Characters)-1].value ^= 0x80
}

// A mutation changes carrier i of a log in which nothing is wrong.
type mutation struct {
	name   string
	change func(t *testing.T, rec *lineRecord, i int)
}

var mutations = []mutation{
	{"a bit later", func(_ *testing.T, rec *lineRecord, i int) { rec.carriers[i].move(bitTicks) }},
	{"a bit earlier", func(_ *testing.T, rec *lineRecord, i int) { rec.carriers[i].move(-bitTicks) }},
	{"a tick later", func(_ *testing.T, rec *lineRecord, i int) { rec.carriers[i].move(1) }},
	{"a tick earlier", func(_ *testing.T, rec *lineRecord, i int) { rec.carriers[i].move(-1) }},
	{"meant for the other master", func(t *testing.T, rec *lineRecord, i int) { rec.carriers[i].turnMasterBit(t) }},
	{"dropped", func(_ *testing.T, rec *lineRecord, i int) { rec.carriers = slices.Delete(rec.carriers, i, i+1) }},
	{"said twice", func(_ *testing.T, rec *lineRecord, i int) {
		again := rec.cut(i, 1).carriers[0]
		again.move(again.Off - again.On)
		rec.carriers = slices.Insert(rec.carriers, i+1, again)
	}},
	{"one character short", func(_ *testing.T, rec *lineRecord, i int) {
		c := &rec.carriers[i]
		c.Characters = slices.Delete(c.Characters, 7, 8)
	}},
	{"a bit wrong", func(_ *testing.T, rec *lineRecord, i int) {
		c := rec.carriers[i].Characters
		c[len(c)-3].value ^= 0x10
	}},
	{"a gap of a bit inside", func(_ *testing.T, rec *lineRecord, i int) {
		c := rec.carriers[i].Characters
		for k := len(c) / 2; k < len(c); k++ {
			c[k].start += bitTicks
			c[k].end += bitTicks
		}
	}},
	{"too long a tail", func(_ *testing.T, rec *lineRecord, i int) { rec.carriers[i].Off += 3 * bitTicks }},
}

// judged are the breaches of the whole log, and of a log in which each of some
// carriers is changed: every change must be found.
func judged(t *testing.T, rec *lineRecord, busy bool) {
	t.Helper()
	if found := judgeRecord(rec, busy); len(found) > 0 {
		t.Fatalf("%d breaches\n%s", len(found), said(found))
	}
	if !busy {
		return
	}
	const part, behind = 80, 10
	chance := rand.New(rand.NewPCG(1, uint64(len(rec.carriers))))
	for _, m := range mutations {
		for range 40 {
			changed := rec.cut(0, part)
			i := chance.IntN(part - behind)
			m.change(t, changed, i)
			if len(judgeRecord(changed, busy)) == 0 {
				t.Errorf("carrier %d %s: nothing was found", i, m.name)
			}
		}
	}
}
