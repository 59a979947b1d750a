//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/creack/pty"
)

// On a terminal the progress of reading must leave what is told of the file.
func TestPTYKeepsReports(t *testing.T) {
	file := longLine(t)
	ptmx, tty, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	if err := pty.Setsize(ptmx, &pty.Winsize{Rows: 50, Cols: 300}); err != nil {
		t.Fatal(err)
	}
	shown := make(chan []byte)
	go func() {
		b, _ := io.ReadAll(ptmx) // ends with an error, as nobody has the other end any more
		shown <- b
	}()
	o := decodeOptions{summary: true, files: []string{file}, filterFlags: filterFlags{command: -1}}
	if err := o.run(context.Background(), nil, io.Discard, tty); err != nil {
		t.Error(err)
	}
	tty.Close()
	raw := <-shown
	ptmx.Close()
	if !bytes.Contains(raw, []byte("%")) {
		t.Errorf("no progress: %q", raw)
	}
	got := screen(string(raw))
	want := []string{
		file + ": looptone capture",
		file + ":4:1: line does not end: want at most 65535 bytes",
		file + `:6:1: "! end" is missing: the recording was cut short, or lines of it are lost`,
		file + ": the file is damaged in 2 places; the rest was read",
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s\nof %q", strings.Join(got, "\n"), strings.Join(want, "\n"), raw)
	}
}

// longLine is a capture file that takes long enough to read for the progress to be
// shown, though nearly nothing is in it: a line of a gigabyte is a hole on the disk.
func longLine(t *testing.T) string {
	t.Helper()
	text := sealed(0xffff, "looptone capture 1", `! stream 0 "loop" times=start`, "0 0 "+ask)
	more := append([]byte("\n"), sealed(sealOf(text), "1 0 "+ask)...)
	f, err := os.Create(filepath.Join(t.TempDir(), "trace.txt"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = f.Write(text)
	_, moreErr := f.WriteAt(more, 1<<30)
	if err := errors.Join(err, moreErr, f.Close()); err != nil {
		t.Fatal(err)
	}
	return f.Name()
}

// control is a sequence that moves on a terminal, or erases.
//
// Source: ECMA-48, sections 8.3.22 (CUU, A), 8.3.39 (ED, J), 8.3.41 (EL, K).
var control = regexp.MustCompile(`^\x1b\[\??(\d*)([A-Za-z])`)

// screen is what stands on a terminal in the end, without empty lines at its end.
func screen(written string) []string {
	lines, row := []string{""}, 0
	for len(written) > 0 {
		if c := control.FindStringSubmatch(written); c != nil {
			written = written[len(c[0]):]
			switch n, _ := strconv.Atoi(c[1]); c[2] {
			case "A":
				row = max(0, row-max(n, 1))
			case "J":
				lines = append(lines[:row], "")
			case "K":
				lines[row] = ""
			}
			continue
		}
		switch c := written[0]; c {
		case '\r':
			if !strings.HasPrefix(written, "\r\n") {
				lines[row] = ""
			}
		case '\n':
			if row++; row == len(lines) {
				lines = append(lines, "")
			}
		default:
			lines[row] += string(c)
		}
		written = written[1:]
	}
	for len(lines) > 0 && lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines
}
