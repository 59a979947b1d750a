//go:build unix

package main

import (
	"encoding/hex"
	"io"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// unread is where a program writes that nobody reads.
func unread(t *testing.T) *os.File {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	r.Close()
	t.Cleanup(func() { w.Close() })
	return w
}

// A report is written, and nothing beside it is left behind, when whoever reads what is
// shown has gone.
func TestReportWithoutReader(t *testing.T) {
	wav := filepath.Join(t.TempDir(), "tones.wav")
	if code := run([]string{"encode", "--command", "0", "--polling", "0", "--wav", wav}, strings.NewReader(""), io.Discard, io.Discard); code != 0 {
		t.Fatalf("exit code %d", code)
	}
	const trace = "../../testdata/captures/quillmere.txt"
	for _, args := range [...][]string{
		{"decode", trace}, {"decode", "--json", trace}, {"decode", "--csv", trace}, {"decode", "--summary", trace},
		{"decode", "--findings", trace}, {"measure", wav}, {"measure", "--svg", "-", wav},
	} {
		t.Run(strings.Join(args[:len(args)-1], " "), func(t *testing.T) {
			t.Parallel()
			reportWithoutReader(t, args...)
		})
	}
	t.Run("check-modem", func(t *testing.T) {
		t.Parallel()
		echo := feed(t, func(_ int, conn net.Conn) { io.Copy(conn, conn) })
		reportWithoutReader(t, "check-modem", "--tcp", echo, "--loopback", "--messages", "1", "--yes")
	})
}

func reportWithoutReader(t *testing.T, args ...string) {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "report.html")
	cmd := program(t, append(args, "--report", file)...)
	var said strings.Builder
	cmd.Stdout, cmd.Stderr = unread(t), &said
	if err := cmd.Run(); err != nil && cmd.ProcessState.ExitCode() != 3 { // what is looked at need not be in order
		t.Errorf("%v: %s", err, said.String())
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Fatalf("%v: left are %v, want the report alone", err, left)
	}
	page, err := os.ReadFile(file)
	if err != nil || !strings.HasSuffix(strings.TrimSpace(string(page)), "</html>") {
		t.Errorf("%v: the report of %d bytes is not complete", err, len(page))
	}
}

// A port is recorded on when nobody reads what is shown of it.
func TestTimingRecordWithoutReader(t *testing.T) {
	file := filepath.Join(t.TempDir(), "trace.txt")
	request, _ := hex.DecodeString("ffffffffff0283000081")
	more := make(chan bool)
	address := feed(t, func(_ int, conn net.Conn) {
		conn.Write(request)
		<-more
		conn.Write(request)
		io.Copy(io.Discard, conn)
	})
	cmd := program(t, "record", "--tcp", address, "--show", file)
	told := new(said)
	cmd.Stdout, cmd.Stderr = unread(t), told
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stopProgram(t, cmd, os.Kill) })
	waitForText(t, told, "cannot be shown any more")
	more <- true
	recorded := func() bool {
		text, _ := os.ReadFile(file)
		return strings.Count(string(text), " 83 ") == 2
	}
	if err := poll(recorded); err != nil {
		t.Errorf("%v: the second message is not recorded", err)
	}
	stopped(t, cmd, told, file)
}
