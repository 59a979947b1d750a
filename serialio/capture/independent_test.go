package capture

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// scapy runs a script of testdata/independent with Debian's python3-scapy, which knows
// nothing of this package, and gives what it prints.
func scapy(t *testing.T, script string, args ...string) string {
	t.Helper()
	const python = "/usr/bin/python3" // Debian's, which has its packages
	if err := exec.Command(python, "-c", "import scapy.utils").Run(); err != nil {
		leaveOut(t, fmt.Errorf("python3-scapy is not here: %w", err))
	}
	cmd := exec.Command(python, append([]string{filepath.Join("testdata", "independent", script)}, args...)...)
	cmd.Env = append(os.Environ(), "PYTHONDONTWRITEBYTECODE=1")
	var complaints strings.Builder
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v\n%s", script, err, complaints.String())
	}
	return string(out)
}

// What this package writes, another program reads.
func TestScapyReadsWhatIsWritten(t *testing.T) {
	text := sealed(firstSeed, "looptone capture 1", "! started 2031-03-01T12:00:00.5Z", `! stream 0 "host" times=end`, `! stream 1 "line" times=start`,
		"0 0 carrier on", "0.1 0 ff ff 02 80 00 00 82", "0.2 1 06p 80", "0.300000001 1 0ff", "0.4 0 lost 7", "0.5 0 carrier off", "! end")
	file, lost := convert(t, []byte(text), "pcapng")
	name := filepath.Join(t.TempDir(), "trace.pcapng")
	if err := os.WriteFile(name, file, 0o600); err != nil || len(lost) > 0 {
		t.Fatal(err, lost)
	}
	// Noon of that day is 1930132800 seconds after 1970, as date -d says.
	want := `250 1930132800500000000 0 2 
250 1930132800600000000 4 2 ffff0280000082
250 1930132800700000000 8 0 0680
250 1930132800800000001 7 0 0f
250 1930132800900000000 5 2 
250 1930132801000000000 0 0 
`
	if got := scapy(t, "read_events.py", name); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

// What another program has written is read.
func TestScapyIsRead(t *testing.T) {
	folder := t.TempDir()
	scapy(t, "make_packets.py", folder)
	read := func(name string) []string {
		file, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		return tell(t, file, "")
	}
	expect(t, read("frames.pcap"),
		"pcap of private packets, a stretch of characters each (link type 147)",
		"0 0s ff ff ff ff ff 02 80 01 00 83 @trace: packet 1, byte 0",
		"0 1s 06 80 01 07 00 00 39 41 c8 00 00 30, cut  10p @trace: packet 2, byte 0")
	network := []string{
		"0 tcp 192.0.2.1:4001 → 192.0.2.2:4002 1s ff ff ff ff @trace: packet 5, byte 58",
		"0 tcp 192.0.2.1:4001 → 192.0.2.2:4002 750ms ff 02 80 01 00 83 @trace: packet 4, byte 58",
		"1 tcp 192.0.2.2:4002 → 192.0.2.1:4001 1.5s ff ff ff ff ff 06 @trace: packet 7, byte 58",
		"1 tcp 192.0.2.2:4002 → 192.0.2.1:4001 2s 80 01 07 00 00 39 41 c8 00 00 30, cut  6p @trace: packet 9, byte 58",
		"2 udp [2001:db8::1]:4003 → [2001:db8::2]:4004 2.25s 02 80 01 00 83 @trace: packet 10, byte 62",
	}
	expect(t, read("network.pcap"), append([]string{"pcap of a network"}, network...)...)
	expect(t, read("network.pcapng"), append([]string{"pcapng of a network"}, network...)...)
}
