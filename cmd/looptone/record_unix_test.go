//go:build unix

package main

import (
	"bytes"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"looptone/serialio/capture"
)

// startRecord starts to record, and gives what it says when it has begun. The test ends
// it.
func startRecord(t *testing.T, args ...string) (cmd *exec.Cmd, out, told *said) {
	t.Helper()
	cmd = program(t, append([]string{"record"}, args...)...)
	out, told = new(said), new(said)
	cmd.Stdout, cmd.Stderr = out, told
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stopProgram(t, cmd, os.Kill) })
	waitForText(t, told, "recording ")
	return cmd, out, told
}

func waitForText(t *testing.T, told *said, want string) {
	t.Helper()
	if err := poll(func() bool { return strings.Contains(told.String(), want) }); err != nil {
		t.Fatalf("%v: %q was not said:\n%s", err, want, told.String())
	}
}

// stopped ends a recording as a person does, and wants it to be complete.
func stopped(t *testing.T, cmd *exec.Cmd, told *said, file string) {
	t.Helper()
	if code := stopProgram(t, cmd, os.Interrupt); code != 0 {
		t.Errorf("record exits with %d, want 0:\n%s", code, told.String())
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !regexp.MustCompile(`\n! end \*[0-9a-f]{4}\n$`).Match(text) {
		t.Errorf("the recording does not end:\n%s", text)
	}
}

// decodedFile is what decode says of a file.
func decodedFile(name string, o decodeOptions) (stdout, stderr string, err error) {
	var out, told bytes.Buffer
	o.files, o.command = []string{name}, -1
	err = o.run(context.Background(), strings.NewReader(""), &out, &told)
	return out.String(), told.String(), err
}

// feed is a TCP server that sends what comes next to whoever connects.
func feed(t *testing.T, next func(client int, conn net.Conn)) (address string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for client := 0; ; client++ {
			conn, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer conn.Close()
				next(client, conn)
			}()
		}
	}()
	return l.Addr().String()
}

// TestTimingRecordKills kills 50 recordings that are all written to one file, at moments
// of chance. Every line that is complete can be read, and at most the last one of each
// is torn.
func TestTimingRecordKills(t *testing.T) {
	const kills = 50
	file := filepath.Join(t.TempDir(), "trace.txt")
	address := feed(t, func(_ int, conn net.Conn) {
		for i := 0; ; i++ {
			if _, err := conn.Write([]byte{byte(i), byte(i >> 8)}); err != nil {
				return
			}
			if i%20 == 19 { // so that not all comes at once
				<-time.After(100 * time.Microsecond)
			}
		}
	})
	chance := rand.New(rand.NewPCG(7, 7))
	for range kills {
		cmd, _, _ := startRecord(t, "--tcp", address, file)
		<-time.After(time.Duration(chance.IntN(40_000)) * time.Microsecond)
		stopProgram(t, cmd, os.Kill)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	complete, torn := 0, 0
	for line := range bytes.Lines(text) {
		switch chars := regexp.MustCompile(`^[0-9.]+ 0((?: [0-9a-f]{2})+) \*[0-9a-f]{4}\n$`).FindSubmatch(line); {
		case chars != nil:
			complete += len(chars[1]) / 3
		case !regexp.MustCompile(` \*[0-9a-f]{4}\n$`).Match(line) && len(line) > 1:
			torn++
		}
	}
	rd, _, err := capture.Open(bytes.NewReader(text), file, "")
	if err != nil {
		t.Fatal(err)
	}
	got, damages, sections := 0, 0, 1
	for rec := new(capture.Record); ; {
		if err := rd.Next(rec); err != nil {
			if err != io.EOF {
				t.Fatal(err)
			}
			break
		}
		if rec.Damage != nil {
			damages++
		}
		if rec.Resumed {
			sections++
		}
		got += len(rec.Chars)
	}
	t.Logf("%d kills: %d characters in %d bytes, %d lines torn, %d damages", kills, got, len(text), torn, damages)
	if got != complete || got < 1000 || torn > kills || damages != kills || sections != kills {
		t.Errorf("%d of %d characters read, %d lines torn, %d damages, %d recordings; want all, one damage a kill", got, complete, torn, damages, sections)
	}
}

// A port goes while it is listened to, and comes back: that is said once, the recording
// goes on, and what nobody heard is no silence of anybody.
func TestTimingRecordGoesOn(t *testing.T) {
	file := filepath.Join(t.TempDir(), "trace.txt")
	request, _ := hex.DecodeString("ffffffffff0283000081")
	address := feed(t, func(client int, conn net.Conn) {
		conn.Write(request)
		if client == 0 {
			return // it goes
		}
		io.Copy(io.Discard, conn)
	})
	cmd, out, told := startRecord(t, "--tcp", address, "--show", file)
	waitForText(t, told, "is open again after ")
	if err := poll(func() bool { return strings.Count(out.String(), "read unique identifier") == 2 }); err != nil {
		t.Errorf("%v: shown was\n%s", err, out.String())
	}
	stopped(t, cmd, told, file)
	stdout, stderr, err := decodedFile(file, decodeOptions{})
	if err != nil || strings.Contains(stderr, "damage") || strings.Count(stdout, "read unique identifier") != 2 || strings.Contains(stdout+out.String(), "does not answer") {
		t.Errorf("%v: decoded is\n%s%s", err, stdout, stderr)
	}
	text, err := os.ReadFile(file)
	if err != nil || !bytes.Contains(text, []byte("read "+address+": the other end is gone *")) || strings.Count(told.String(), "is gone") != 1 {
		t.Errorf("%v: recorded is\n%s\nsaid was\n%s", err, text, told.String())
	}
}

// Decode listens: it shows a message as soon as it is over, says who does not answer, and
// sends nothing.
func TestTimingDecodePort(t *testing.T) {
	request, _ := hex.DecodeString("ffffffffff0283000081")
	sent := make(chan []byte, 1)
	address := feed(t, func(_ int, conn net.Conn) {
		conn.Write(request)
		<-time.After(time.Second)
		conn.Write(request[:8])
		all, _ := io.ReadAll(conn)
		sent <- all
	})
	cmd := program(t, "decode", "--tcp", address)
	var out, told said
	cmd.Stdout, cmd.Stderr = &out, &told
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stopProgram(t, cmd, os.Kill) })
	for _, want := range []string{"primary → polling address 3  read unique identifier", "polling address 3 does not answer primary", "damage: "} {
		waitForText(t, &out, want)
	}
	if code := stopProgram(t, cmd, os.Interrupt); code != 0 {
		t.Errorf("decode exits with %d, want 0:\n%s", code, told.String())
	}
	if chars := <-sent; len(chars) > 0 {
		t.Errorf("it has sent % x", chars)
	}
}

// A disk that is full from the start is told, and nothing is heard.
func TestTimingRecordOnAFullDisk(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		leaveOut(t, err)
	}
	address := feed(t, func(_ int, conn net.Conn) { io.Copy(io.Discard, conn) })
	cmd := program(t, "record", "--tcp", address, "/dev/full")
	said, err := cmd.CombinedOutput()
	if want := "looptone: write /dev/full: no space left on device\n"; err == nil || cmd.ProcessState.ExitCode() != 1 || string(said) != want {
		t.Errorf("exits with %d and says %q, want 1 and %q", cmd.ProcessState.ExitCode(), said, want)
	}
}

// A pipe that nobody reads yet is waited for, and not for longer than the user does.
func TestTimingRecordToAPipeWithoutAReader(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- (&recordOptions{file: pipe}).run(ctx, io.Discard, io.Discard) }()
	select {
	case err := <-ended:
		if !errors.Is(err, errInterrupted) {
			t.Errorf("ends with %v, want %v", err, errInterrupted)
		}
	case <-time.After(10 * time.Second):
		t.Error("it does not end")
	}
}

// A disk that does not take anything for a while makes nothing late on the wire.
func TestTimingRecordOnASlowDisk(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "pipe")
	if err := syscall.Mkfifo(file, 0o600); err != nil {
		t.Fatal(err)
	}
	from, to := addressOfNobody(t), ""
	host := make(chan net.Conn, 1)
	to = feed(t, func(_ int, conn net.Conn) {
		host <- conn
		<-t.Context().Done()
	})
	reader, err := os.OpenFile(file, os.O_RDWR, 0) // which reads nothing for now
	if err != nil {
		t.Fatal(err)
	}
	cmd, _, told := startRecord(t, "--tcp", to, "--listen", from, "--buffer", "64KiB", file)
	client, err := net.Dial("tcp", from)
	if err != nil {
		t.Fatal(err)
	}
	defer client.Close()
	waitForText(t, told, "has connected")
	line := <-host
	worst := time.Duration(0)
	const messages = 4000 // more than the pipe and the buffer hold
	buf := make([]byte, 16)
	for i := range messages {
		want := fmt.Appendf(nil, "message %08d", i)
		began := time.Now()
		if _, err := line.Write(want); err != nil {
			t.Fatal(err)
		}
		client.SetReadDeadline(time.Now().Add(10 * time.Second))
		if _, err := io.ReadFull(client, buf); err != nil || !bytes.Equal(buf, want) {
			t.Fatalf("%v: got %q, want %q", err, buf, want)
		}
		worst = max(worst, time.Since(began))
	}
	t.Logf("a message takes %v at the worst", worst)
	if worst > time.Second {
		t.Errorf("a message took %v", worst)
	}
	got := make(chan string)
	go func() {
		var text strings.Builder
		b := make([]byte, 64<<10)
		for !regexp.MustCompile(`\n! end \*....\n$`).MatchString(text.String()[max(0, text.Len()-20):]) {
			n, err := reader.Read(b)
			if text.Write(b[:n]); err != nil {
				break
			}
		}
		got <- text.String()
	}()
	if code := stopProgram(t, cmd, os.Interrupt); code != 0 {
		t.Errorf("record exits with %d:\n%s", code, told.String())
	}
	text := <-got
	lost := regexp.MustCompile(`\n[0-9.]+ 0 lost ([0-9]+) \*`).FindStringSubmatch(text)
	if lost == nil || !strings.Contains(told.String(), "characters were lost: the disk was too slow, or full") {
		t.Errorf("no loss is told: %s\n%s", text[max(0, len(text)-300):], told.String())
	}
}

// Files follow each other, each is complete, and no message is divided between them.
func TestTimingRecordRotates(t *testing.T) {
	dir := t.TempDir()
	request, _ := hex.DecodeString("ffffffffff0283000081")
	address := feed(t, func(_ int, conn net.Conn) {
		for range 10 {
			conn.Write(request)
			<-time.After(350 * time.Millisecond)
		}
		io.Copy(io.Discard, conn)
	})
	cmd, _, told := startRecord(t, "--tcp", address, "--rotate-every", "1s", filepath.Join(dir, "trace.txt"))
	files := func() []string {
		names, err := filepath.Glob(filepath.Join(dir, "*"))
		if err != nil {
			t.Fatal(err)
		}
		return names
	}
	if err := poll(func() bool { return len(files()) == 4 }); err != nil {
		t.Fatal(err)
	}
	names := files()
	stopped(t, cmd, told, names[3])
	requests := 0
	for i, name := range names {
		if want := fmt.Sprintf("trace-%04d.txt", i+1); filepath.Base(name) != want {
			t.Errorf("got %s, want %s", name, want)
		}
		stdout, stderr, err := decodedFile(name, decodeOptions{json: true})
		if requests += strings.Count(stdout, `"event":"frame"`); strings.Contains(stderr, "damage") || strings.Contains(stdout, `"event":"damage"`) || i < 3 && err != nil {
			t.Errorf("%v: %s%s", err, stdout, stderr)
		}
	}
	if requests < 8 || requests > 10 {
		t.Errorf("%d requests recorded, want all up to the fourth file", requests)
	}
}
