package capture

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
)

// conversation is a file with what there can be in one, and no two lines alike.
func conversation() []string {
	return strings.SplitAfter(strings.TrimSuffix(sealed(firstSeed, "looptone capture 1",
		"! started 2031-03-01T03:10:07.12+01:00",
		`! stream 0 "from the host" times=end late=0.016 parity=visible`,
		`! stream 1 "on the loop" times=start`,
		"# remark",
		"0.1 0 ff ff 02 80 01 00 83",
		"0.036 1 ff ff 02 80 01 00 83",
		"0.2 1 carrier on",
		"0.204 1 ff ff ff 06 80 01 07 00 00 39 41",
		"0.304 1 c8 00 00 30",
		"0.35 1 carrier off",
		"0.9 1 lost 4",
		"1.1 0 ff ff 02 80p 02 00 80",
		"1.2 0 ff ff 02 80 02g 00 80",
		"! end"), "\n"), "\n")
}

// heard is what a record tells, without what depends on the records in front of it.
type heard struct {
	what string
	when string // and with which marks; "" where the times are not known
}

// read is what a file yields, and how much of it was damaged.
func read(t *testing.T, text string) (records []heard, damages int) {
	t.Helper()
	rd, _, err := Open(strings.NewReader(text), "trace.txt", "")
	rec := new(Record)
	var pos [256]int64
	for err == nil {
		if err = rd.Next(rec); err != nil {
			break
		}
		if rec.Damage != nil {
			damages++
		}
		h := heard{what: fmt.Sprintf("%d % x lost %d", rec.Stream, rec.Chars, rec.Lost)}
		if rec.Start.known {
			h.when = fmt.Sprintf("from %s to %s, late %s", sayStamp(rec.Start), sayStamp(rec.End), rec.Late)
			for _, m := range rec.Marks {
				if m.Mark &^= frame.Cut; m.Mark != 0 {
					h.when += fmt.Sprintf(", %v at %d", m.Mark, m.Pos-pos[rec.Stream])
				}
			}
		}
		pos[rec.Stream] += int64(len(rec.Chars))
		if rec.Start.known || len(rec.Chars) > 0 {
			records = append(records, h)
		}
	}
	if err != io.EOF {
		t.Errorf("%v in\n%s", err, text)
	}
	return records, damages
}

// TestEveryChangeIsNoticed: whatever one thing is done to one line, somebody hears
// of it, nothing is read that was not there or at another time, and at most two
// lines are lost with it. Only where what describes its stream is damaged may a line
// be read without its times. Nobody needs to be told that it is a capture file.
func TestEveryChangeIsNoticed(t *testing.T) { checkChanges(t, conversation()) }

// checkChanges changes the lines of a conversation.
func checkChanges(t *testing.T, lines []string) {
	t.Helper()
	const described = 4 // by so many lines
	want, damages := read(t, strings.Join(lines, ""))
	if damages > 0 || len(want) != 9 {
		t.Fatalf("untouched: %d damages, %q", damages, want)
	}
	check := func(what string, first int, changed []string, lost int) {
		t.Helper()
		got, damages := read(t, strings.Join(changed, ""))
		if damages == 0 {
			t.Errorf("%s: nobody notices", what)
		}
		same := func(a, b heard) bool {
			moved := lost > 2 && first == 0 // to where another recording would begin
			return a.what == b.what && (a.when == b.when || first < described && b.when == "" || moved)
		}
		if missing := len(want) - len(got); missing < 0 || missing > lost || !isPart(got, want, same) {
			t.Errorf("%s: read %q, want all of %q but %d", what, got, want, lost)
		}
	}
	for i, line := range lines {
		check(fmt.Sprintf("line %d is lost", i+1), i, slices.Delete(slices.Clone(lines), i, i+1), 2)
		check(fmt.Sprintf("line %d is doubled", i+1), i, slices.Insert(slices.Clone(lines), i, line), 0)
		for j := range i {
			swapped := slices.Clone(lines)
			swapped[i], swapped[j] = swapped[j], swapped[i]
			check(fmt.Sprintf("lines %d and %d are swapped", j+1, i+1), j, swapped, 4)
		}
		for at := range line {
			if short := line[:at] + "\n"; short != line {
				check(fmt.Sprintf("line %d ends at %d", i+1, at), i, slices.Replace(slices.Clone(lines), i, i+1, short), 2)
			}
			for bit := range 8 {
				flipped := []byte(line)
				flipped[at] ^= 1 << bit
				check(fmt.Sprintf("bit %d at %d of line %d", bit, at, i+1), i, slices.Replace(slices.Clone(lines), i, i+1, string(flipped)), 2)
			}
		}
	}
	for i, line := range lines {
		torn := slices.Clone(lines[:i+1])
		torn[i] = line[:len(line)-2]
		check(fmt.Sprintf("torn in line %d", i+1), i, torn, len(want))
	}
}

// isPart reports whether got are some of all, in any order.
func isPart(got, all []heard, same func(a, b heard) bool) bool {
	left := slices.Clone(all)
	for _, h := range got {
		i := slices.IndexFunc(left, func(l heard) bool { return same(l, h) })
		if i < 0 {
			return false
		}
		left = slices.Delete(left, i, i+1)
	}
	return true
}

func FuzzFile(f *testing.F) {
	whole := strings.Join(conversation(), "")
	f.Add([]byte(whole))
	f.Add([]byte(strings.Replace(whole, "06", "07", 1)))
	f.Add([]byte(whole + "\n" + whole))
	f.Add([]byte(recording("0.1 300 ff", "1 1 ffpfg", "999999999.999999999 0 00", "5 0 lost 999999999999999999999", "! stream 1 \"\\x00\" times=start late=999999999")))
	f.Add([]byte(recording("0 0 " + strings.Repeat("ff ", 30000))))
	f.Fuzz(func(t *testing.T, b []byte) {
		want, err := said(bytes.NewReader(b))
		for division, r := range divided(b) {
			got, again := said(r)
			if !slices.Equal(got, want) || !sameError(err, again) {
				t.Errorf("%s: got %q, %v, want %q, %v", division, got, again, want, err)
			}
		}
		checkFile(t, b)
		// The same lines with the right CRCs: all of the reader is reached.
		var lines []string
		for line := range strings.Lines(string(b)) {
			lines = append(lines, strings.TrimRight(line, "\r\n"))
		}
		checkFile(t, []byte(sealed(firstSeed, lines...)))
	})
}

// checkFile: every character stands where it is said to, on a line with a CRC, and
// marks stand at characters.
func checkFile(t *testing.T, b []byte) {
	t.Helper()
	rd, _, err := Open(bytes.NewReader(b), "trace.txt", "capture")
	if errors.Is(err, ErrEmpty) || errors.Is(err, ErrUTF16) {
		return
	}
	lines := strings.Split(strings.TrimPrefix(string(b), "\ufeff"), "\n")
	var heard [256]int64
	for rec := new(Record); err == nil; {
		if err = rd.Next(rec); err != nil {
			break
		}
		for i, c := range rec.Chars {
			at := rec.Place.Of(i)
			if text := lines[at.Line-1][at.Column-1:]; !strings.EqualFold(text[:2], fmt.Sprintf("%02x", c)) {
				t.Errorf("%v: got %02x, there stands %.10q", at, c, text)
			}
			if _, _, sealed := cutSeal([]byte(strings.TrimSuffix(lines[at.Line-1], "\r"))); !sealed {
				t.Errorf("%v: read from a line without a CRC", at)
			}
		}
		first := heard[rec.Stream]
		heard[rec.Stream] += int64(len(rec.Chars))
		for _, m := range rec.Marks {
			if m.Pos < first || m.Pos > heard[rec.Stream] || m.Pos == heard[rec.Stream] && len(rec.Chars) > 0 {
				t.Errorf("mark %v among the characters %d to %d", m, first, heard[rec.Stream])
			}
		}
	}
	if syntax := (*SyntaxError)(nil); err != io.EOF && (!errors.As(err, &syntax) || !strings.Contains(err.Error(), "version")) {
		t.Errorf("got %v", err)
	}
}
