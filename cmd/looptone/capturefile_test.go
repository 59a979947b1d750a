package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

// sealed are lines of a capture file with their CRCs, the first seeded with seed.
func sealed(seed uint16, lines ...string) (file []byte) {
	for _, line := range lines {
		seed = x25(seed, line)
		file = fmt.Appendf(file, "%s *%04x\n", line, seed)
	}
	return file
}

// sealOf is the CRC at the end of a capture file.
func sealOf(file []byte) uint16 {
	star := bytes.LastIndexByte(file, '*')
	crc, err := strconv.ParseUint(string(file[star+1:star+5]), 16, 16)
	if err != nil {
		panic(err)
	}
	return uint16(crc)
}

// x25 is the CRC bit by bit, on a register that shifts right.
//
// Source: RFC 1662, section C.2 (polynomial 8408 in that direction, complement at
// the end).
func x25(register uint16, text string) uint16 {
	for _, c := range []byte(text) {
		register ^= uint16(c)
		for range 8 {
			if register&1 == 0 {
				register >>= 1
			} else {
				register = register>>1 ^ 0x8408
			}
		}
	}
	return ^register
}

// decoded is what decode shows of some text, and how it ends.
func decoded(t *testing.T, o decodeOptions, text []byte) (stdout, stderr string, err error) {
	t.Helper()
	name := filepath.Join(t.TempDir(), "trace.txt")
	if err := os.WriteFile(name, text, 0o600); err != nil {
		t.Fatal(err)
	}
	var out, told bytes.Buffer
	o.files, o.command = []string{name}, -1
	if err := o.check(); err != nil {
		t.Fatal(err)
	}
	err = o.run(context.Background(), nil, &out, &told)
	return out.String(), told.String(), err
}

// undisturbed is a conversation in which nothing is wrong: the published request and
// reply of command 1, again and again, the reply in two parts and once with FF FF
// 02 inside.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
func undisturbed(streams int) []string {
	lines := []string{"looptone capture 1", "! started 2031-03-01T03:10:07+01:00", "# nothing is wrong"}
	for s := range streams {
		lines = append(lines, fmt.Sprintf(`! stream %d "probe" times=start late=0.002`, s))
	}
	say := func(at float64, chars string) {
		for s := range streams {
			lines = append(lines, fmt.Sprintf("%.6f %d %s", at+0.001*float64(s), s, chars))
		}
	}
	for i := range 4 {
		at := float64(i)
		say(at, "ff ff 02 80 01 00 83")
		say(at+0.1, "ff ff 06 80 01 07 00 00")
		if i == 2 {
			say(at+0.1+8*11./1200, "39 ff ff 02 80 3b") // constructed: the value is not a number
		} else {
			say(at+0.1+8*11./1200, "39 41 c8 00 00 30")
		}
	}
	return append(lines, "! end")
}

// TestDamageOfAFileIsNoTroubleOnTheLine: whatever one thing is done to one line of
// a file, decode does not say that something was wrong on the line.
func TestDamageOfAFileIsNoTroubleOnTheLine(t *testing.T) {
	for _, streams := range []int{1, 2} {
		lines := strings.SplitAfter(strings.TrimSuffix(string(sealed(0xffff, undisturbed(streams)...)), "\n"), "\n")
		out, _, err := decoded(t, decodeOptions{strict: true}, []byte(strings.Join(lines, "")))
		if err != nil || strings.Count(out, "\n") != 1+8 {
			t.Fatalf("untouched: %v\n%s", err, out)
		}
		for i, line := range lines {
			flipped := line[:len(line)/2] + string(line[len(line)/2]^4) + line[len(line)/2+1:]
			changes := [][]string{
				slices.Delete(slices.Clone(lines), i, i+1),
				slices.Insert(slices.Clone(lines), i, line),
				slices.Replace(slices.Clone(lines), i, i+1, flipped),
				slices.Replace(slices.Clone(lines), i, i+1, line[:len(line)/2]+"\n"),
			}
			if i > 0 {
				swapped := slices.Clone(lines)
				swapped[i], swapped[i-1] = swapped[i-1], swapped[i]
				changes = append(changes, swapped)
			}
			for n, change := range changes {
				checkNoTrouble(t, fmt.Sprintf("%d streams, line %d, change %d", streams, i+1, n), strings.Join(change, ""))
			}
		}
	}
}

func checkNoTrouble(t *testing.T, name, text string) {
	t.Helper()
	said, told, err := decoded(t, decodeOptions{strict: true}, []byte(text))
	if !errors.Is(err, errNotInOrder) || !strings.Contains(told, "the file is damaged in ") {
		t.Errorf("%s: --strict ends with %v\n%s", name, err, told)
	}
	for _, trouble := range []string{"damage", "noise", "does not answer", "nobody asked", "again"} {
		if strings.Contains(said, trouble) {
			t.Errorf("%s: %s\n%s%s", name, trouble, told, said)
		}
	}
	objects, _, _ := decoded(t, decodeOptions{json: true}, []byte(text))
	for line := range strings.Lines(objects) {
		if !strings.Contains(line, `"event":"frame"`) && !strings.Contains(line, `"event":"torn"`) && !strings.Contains(line, `"event":"lost"`) {
			t.Errorf("%s: %s", name, line)
		}
	}
	summary, _, _ := decoded(t, decodeOptions{summary: true}, []byte(text))
	if trouble := regexp.MustCompile(`damaged|noise|unanswered|unasked|asked again`).FindString(summary); trouble != "" {
		t.Errorf("%s: %s\n%s", name, trouble, summary)
	}
}

// Each character is in one line, torn or not.
func TestTornCharactersAreShown(t *testing.T) {
	lines := undisturbed(1)
	text := string(sealed(0xffff, lines...))
	text = strings.Replace(text, "39 41 c8", "39 41 c9", 1)
	out, _, err := decoded(t, decodeOptions{json: true}, []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"n":2,"event":"torn","stream":0,"start":9,"preambles":2,"time":0.118333,"at":"2031-03-01T03:10:07.118333+01:00",`
	if !strings.Contains(out, want) || !strings.Contains(out, `"bytes":"068001070000"}`) {
		t.Errorf("got\n%s\nwant %s… with the bytes 068001070000", out, want)
	}
	out, _, err = decoded(t, decodeOptions{}, []byte(text))
	if want := "03:10:07.118  8 characters beside what the capture has lost: 06 80 01 07 00 00\n"; err != nil || !strings.Contains(out, want) {
		t.Errorf("%v, got\n%s\nwant %s", err, out, want)
	}
}

// Torn characters are nothing that --damage asks for.
func TestTornIsNoDamage(t *testing.T) {
	text := strings.Replace(string(sealed(0xffff, undisturbed(1)...)), "39 41 c8", "39 41 c9", 1)
	out, told, err := decoded(t, decodeOptions{filterFlags: filterFlags{damaged: true}}, []byte(text))
	if out != "" || err != nil || !strings.Contains(told, "no message passes the filter") {
		t.Errorf("%v, got\n%s%s", err, told, out)
	}
}

// What a hole in the file excuses ends with the next whole frame, or when the line
// falls silent; trouble behind that is told.
func TestTroubleBehindDamageOfAFile(t *testing.T) {
	const request, reply = "ff ff 02 80 01 00 83", "ff ff 06 80 01 07 00 00 39 41 c8 00 00 30"
	for _, tt := range []struct {
		name  string
		lines []string
		want  string
	}{
		{"behind a whole frame", []string{"1 0 " + request, "1.0642 0 ff ff 02 80 01 00 84"},
			"    1.083 s  damage: frame at byte 9: check byte at byte 13 does not match (got 84, want 83): 02 80 01 00 84  (line 5, column 28)\n"},
		{"behind a silence", []string{"1 0 80 01", "2 0 ff ff 02 80 01 00 84"},
			"    2.018 s  damage: frame at byte 4: check byte at byte 8 does not match (got 84, want 83): 02 80 01 00 84  (line 5, column 23)\n"},
		{"a second reply", []string{"1 0 " + request, "1.1 0 " + reply, "1.5 0 " + reply}, "    1.518 s  polling address 0 → primary  25 %  (nobody asked)\n"},
		{"a second reply without its request", []string{"1.1 0 " + reply, "1.5 0 " + reply}, "    1.518 s  polling address 0 → primary  25 %  (nobody asked)\n"},
	} {
		lines := append([]string{"looptone capture 1", `! stream 0 "loop" times=start`, "! hole"}, tt.lines...)
		out, _, err := decoded(t, decodeOptions{}, sealed(0xffff, append(lines, "9 0 "+request, "! end")...))
		if err != nil || !strings.Contains(out, tt.want) {
			t.Errorf("%s: %v, got\n%s\nwant %s", tt.name, err, out, tt.want)
		}
	}
}

// Two streams with damage on one: what the other heard comes in the order of times.
func TestStreamsKeepTheOrderOfTimes(t *testing.T) {
	text := sealed(0xffff, "looptone capture 1",
		`! stream 0 "to the device" times=start`, `! stream 1 "from the device" times=start`,
		"0 0 ff ff 02 80 01 04 83", // constructed: the byte count claims more than was sent
		"0.1 1 ff ff 06 80 01 07 00 00 39 41 c8 00 00 30",
		"1 0 ff ff 02 80 01 00 83",
		"1.1 1 ff ff 06 80 01 07 00 00 39 41 c8 00 00 30",
		"! end")
	out, _, err := decoded(t, decodeOptions{}, text)
	const want = `    0.018 s  to the device  damage: frame at byte 2: data at byte 7 is missing: the input ends, or falls silent: 02 80 01 04 83  (line 4, column 23)
    0.118 s  from the device  polling address 0 → primary  25 %
    1.018 s  to the device  primary → polling address 0  read primary variable
    1.118 s  from the device  polling address 0 → primary  25 %  after 36 ms
`
	if err != nil || out != want {
		t.Errorf("%v, got\n%s\nwant\n%s", err, out, want)
	}
}

// A stream that falls silent in the middle of something does not hold up the other.
func TestNobodyWaitsForASilentStream(t *testing.T) {
	lines := []string{"looptone capture 1", `! stream 0 "probe" times=start`, `! stream 1 "probe" times=start`, "0 1 ff ff 02 80"}
	for i := range 20 {
		lines = append(lines, fmt.Sprintf("%d.5 0 ff ff 02 80 01 00 83", i))
	}
	to := &heardOrder{}
	l := listening{to: to}
	feedLines(t, &l, sealed(0xffff, append(lines, "! end")...))
	if len(to.streams) != 20 {
		t.Errorf("%d of 20 events are through before the end", len(to.streams))
	}
}

// heardOrder writes down in which order events come.
type heardOrder struct{ streams []int }

func (h *heardOrder) event(s *strand)       { h.streams = append(h.streams, s.number) }
func (h *heardOrder) gap(*gap)              {}
func (h *heardOrder) silence(exchange.Span) {}

func feedLines(t *testing.T, l *listening, text []byte) {
	t.Helper()
	r, _, err := capture.Open(bytes.NewReader(text), "trace.txt", "")
	if err != nil {
		t.Fatal(err)
	}
	for rec := new(capture.Record); r.Next(rec) == nil; {
		l.take(rec)
	}
}
