//go:build unix

package main

import (
	"bytes"
	"io"
	"net"
	"os"
	"strings"
	"testing"
)

// A modem that repeats what it sends, between a host and a simulation: with --echo a
// scan finds what it finds without such a modem, and says so when the modem garbles.
func TestTimingScanThroughAModemThatEchoes(t *testing.T) {
	address := addressOfNobody(t)
	sim := program(t, "sim", "--listen", address)
	if err := sim.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stopProgram(t, sim, os.Interrupt) })
	there := func() bool {
		conn, err := net.Dial("tcp", address)
		if err == nil {
			conn.Close()
		}
		return err == nil
	}
	if err := poll(there); err != nil {
		t.Fatal(err)
	}
	scan := func(address string, more ...string) (found, told string) {
		t.Helper()
		var out, err bytes.Buffer
		scan := program(t, append([]string{"scan", "--tcp", address, "--from", "3", "--to", "3"}, more...)...)
		scan.Stdout, scan.Stderr = &out, &err
		if failed := scan.Run(); failed != nil {
			t.Fatalf("%v\n%s%s", failed, out.String(), err.String())
		}
		return out.String(), err.String()
	}
	tags := func(found string) (tags []string) {
		for line := range strings.Lines(found) {
			tags = append(tags, strings.Fields(line)[0])
		}
		return tags
	}
	plain, _ := scan(address)
	const sentence = "what was sent came back changed: somebody else talked at the same time, or the modem garbles it"
	for name, garbled := range map[string]int{"clean": -1, "garbled": 7} {
		found, told := scan(echoingModem(t, address, garbled), "--echo")
		if got, want := strings.Join(tags(found), " "), strings.Join(tags(plain), " "); got != want || want == "" {
			t.Errorf("%s: found %q, want %q\n%s", name, got, want, told)
		}
		if n, want := strings.Count(told, sentence), map[bool]int{true: 1}[garbled >= 0]; n != want {
			t.Errorf("%s: said %d times that it comes back otherwise, want %d:\n%s", name, n, want, told)
		}
	}
}

// echoingModem relays a client to a server, and repeats to the client what it sends;
// the character at garbled of it otherwise.
func echoingModem(t *testing.T, server string, garbled int) (address string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		client, err := l.Accept()
		if err != nil {
			return
		}
		defer client.Close()
		line, err := net.Dial("tcp", server)
		if err != nil {
			return
		}
		defer line.Close()
		go io.Copy(client, line)
		buf := make([]byte, 1)
		for n := 0; ; n++ {
			if _, err := client.Read(buf); err != nil {
				return
			}
			line.Write(buf)
			if n == garbled {
				buf[0] ^= 0x10
			}
			client.Write(buf)
		}
	}()
	return l.Addr().String()
}
