package capture

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
)

// record writes one character into a file.
func record(t *testing.T, open func() (File, error), c byte) {
	t.Helper()
	r := started(t, Recording{Open: open, Streams: oneStream})
	hear(r, 0, c)
	check(t, r.Close())
}

// A recording is appended to one that is complete, or torn, or cut short.
func TestAppend(t *testing.T) {
	name := filepath.Join(t.TempDir(), "trace.txt")
	open := func() (File, error) { return Append(name) }
	record(t, open, 1)
	first, err := os.ReadFile(name)
	check(t, err)
	for cut := range len(first) - len(firstLine) {
		check(t, os.WriteFile(name, first[:len(first)-cut], 0o600))
		record(t, open, 2)
		text, err := os.ReadFile(name)
		check(t, err)
		rd, _, err := Open(bytes.NewReader(text), name, "")
		check(t, err)
		var chars []byte
		damages := 0
		for rec := new(Record); rd.Next(rec) == nil; {
			if chars = append(chars, rec.Chars...); rec.Damage != nil {
				damages++
			}
		}
		want := []byte{1, 2}
		if cut > len("! end *0000\n")+1 { // into the line with the character; the end of that line may be missing
			want = want[1:]
		}
		if !bytes.Equal(chars, want) || damages > 1 || cut > 1 && damages == 0 {
			t.Errorf("cut by %d: % x, %d damages\n%s", cut, chars, damages, text)
		}
	}
}

func TestAppendRefuses(t *testing.T) {
	name := filepath.Join(t.TempDir(), "letter.txt")
	check(t, os.WriteFile(name, []byte("dear reader\n"), 0o600))
	_, err := Append(name)
	if want := name + " exists and is no looptone capture: want a name that is free, or a capture to append to"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if text, _ := os.ReadFile(name); string(text) != "dear reader\n" {
		t.Errorf("it is changed: %q", text)
	}
}

// Numbers go on behind those that are there, and nothing is written over.
func TestNumbered(t *testing.T) {
	folder := t.TempDir()
	for _, name := range []string{"trace-0007.txt", "trace-12.csv", "trace-x.txt", "other-0100.txt", "trace.txt"} {
		check(t, os.WriteFile(filepath.Join(folder, name), []byte("dear reader\n"), 0o600))
	}
	n := Numbered{Name: filepath.Join(folder, "trace.txt")}
	record(t, n.Open, 1)
	check(t, os.WriteFile(filepath.Join(folder, "trace-0009.txt"), []byte("dear reader\n"), 0o600))
	record(t, n.Open, 2)
	files, err := filepath.Glob(filepath.Join(folder, "trace-00*"))
	check(t, err)
	var names []string
	for _, f := range files {
		names = append(names, filepath.Base(f))
	}
	wantLines(t, names, "trace-0007.txt", "trace-0008.txt", "trace-0009.txt", "trace-0010.txt")
	if text, _ := os.ReadFile(filepath.Join(folder, "trace-0009.txt")); string(text) != "dear reader\n" {
		t.Errorf("it is changed: %q", text)
	}
}
