//go:build unix

package main

import (
	"bytes"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A scan reaches a simulated line through Debian's ser2net, by RFC 2217, and finds what
// is there; a simulation that is no device server is refused with a sentence. The pty
// has no clock, so the first request, 25 characters with its preambles or 229 ms, is there
// at once: the device takes longer than that.
func TestTimingScanThroughADeviceServer(t *testing.T) {
	server, err := exec.LookPath("ser2net")
	if err != nil {
		leaveOut(t, err)
	}
	folder, address, raw := t.TempDir(), addressOfNobody(t), addressOfNobody(t)
	link := filepath.Join(folder, "loop")
	line := filepath.Join(folder, "line.toml")
	if err := os.WriteFile(line, []byte(strings.Replace(killed, "latency_ms = 10", "latency_ms = 240", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	sim := program(t, "sim", line, "--pty", link, "--listen", raw)
	startSim(t, sim, link, 0)
	host, port, _ := net.SplitHostPort(address)
	config := filepath.Join(folder, "ser2net.yaml")
	text := fmt.Sprintf("%%YAML 1.1\n---\nconnection: &loop\n  accepter: telnet(rfc2217=true),tcp,%s,%s\n  connector: serialdev,%s,9600n81,local\n", host, port, link)
	if err := os.WriteFile(config, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(server, "-d", "-n", "-u", "-c", config)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { stopProgram(t, cmd, os.Kill) })
	scan := func(address string) (found, told string, code int) {
		var out, aside bytes.Buffer
		scan := program(t, "scan", "--rfc2217", address, "--from", "1", "--to", "1")
		scan.Stdout, scan.Stderr = &out, &aside
		scan.Run()
		return out.String(), aside.String(), scan.ProcessState.ExitCode()
	}
	var found, told string
	err = poll(func() bool { // until ser2net listens
		var code int
		found, told, code = scan(address)
		return code == 0
	})
	if err != nil || !strings.Contains(found, "FT-1") {
		t.Errorf("%v: found %q\n%s", err, found, told)
	}
	if !strings.HasPrefix(told, portCaution) {
		t.Errorf("no caution before a port is opened:\n%s", told)
	}
	if _, told, code := scan(raw); code != 1 || !strings.Contains(told, "looptone: dial "+raw+": no answer to RFC 2217 within 5s\n") {
		t.Errorf("a raw TCP port: exit code %d, said %q", code, told)
	}
}
