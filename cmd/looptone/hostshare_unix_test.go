//go:build unix

package main_test

import (
	"encoding/hex"
	"net"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// TestTimingHostsThatShareAMasterBit: two clients ask in turn as the primary master;
// then one of them asks without a preamble, and talks into the reply to the other. All
// of that is found.
func TestTimingHostsThatShareAMasterBit(t *testing.T) {
	said := filepath.Join(t.TempDir(), "said")
	out, err := os.Create(said)
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	address, finish := listening(t, out, 3, lineFile(t, asked), "--findings", "--strict")
	var hosts [2]net.Conn
	for i := range hosts {
		if hosts[i], err = net.Dial("tcp", address); err != nil {
			t.Fatal(err)
		}
		defer hosts[i].Close()
	}
	const request = "ffffffffff 02 81 00 00 83" // command 0 to polling address 1
	for i := range 3 {
		write(t, hosts[i%2], request)
		for _, host := range hosts {
			listen(t, host, 250*time.Millisecond)
		}
	}
	write(t, hosts[1], "02 81 00 00 83")
	heard(t, hosts[0], 5)
	write(t, hosts[0], request)
	heard(t, hosts[0], 11) // characters of 34
	write(t, hosts[1], "ffff 02 81 00 00 83")
	listen(t, hosts[0], 500*time.Millisecond)
	finish()
	text, err := os.ReadFile(said)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`: comes from client 1, with the same master bit as client 2\n`,
		`: has no preambles, want at least 5: nobody hears it as a request\n`,
		`: talks while something else is on the line\n`,
	} {
		if !regexp.MustCompile(want).Match(text) {
			t.Errorf("%q was not found:\n%s", want, text)
		}
	}
}

func write(t *testing.T, host net.Conn, request string) {
	t.Helper()
	chars, err := hex.DecodeString(strings.ReplaceAll(request, " ", ""))
	if err == nil {
		_, err = host.Write(chars)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// heard reads until so many characters have come.
func heard(t *testing.T, host net.Conn, n int) {
	t.Helper()
	host.SetReadDeadline(time.Now().Add(20 * time.Second))
	for char := []byte{0}; n > 0; n-- {
		if _, err := host.Read(char); err != nil {
			t.Fatal(err)
		}
	}
}
