package statefile

import (
	"bufio"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"looptone/sim/device"
)

func init() { children["save"] = saveOne }

const acknowledgement = "it is kept\n"

// saveOne saves one record and says so when it is told that it is kept.
func saveOne(f *File) {
	b := f.save(number(1), device.Memory{Changes: 1})
	<-b.done
	check(b.err)
	os.Stdout.WriteString(acknowledgement)
}

// TestOnDiskBeforeTheAcknowledgement: a killed process proves nothing about a loss
// of power, since the system still has what it wrote. So the system calls of one
// save are looked at: behind the last write to the file, and before the
// acknowledgement, fdatasync has returned.
func TestOnDiskBeforeTheAcknowledgement(t *testing.T) {
	path := newPath(t)
	mustOpen(t, path).Close() // so the trace holds no other write to it
	calls := trace(t, path)
	ends := returned(calls)
	written, synced, told := -1, -1, -1
	for i, call := range ends {
		switch {
		case strings.HasPrefix(call, "pwrite64(") && strings.Contains(call, path):
			written = i
		case strings.HasPrefix(call, "fdatasync(") && strings.Contains(call, path) && strings.HasSuffix(call, "= 0"):
			synced = i
		case strings.HasPrefix(call, "write(1") && strings.Contains(call, strings.TrimSpace(acknowledgement)):
			told = i
		}
	}
	if !(0 <= written && written < synced && synced < told) {
		t.Errorf("last write %d, last sync %d, acknowledgement %d of these calls:\n%s", written, synced, told, strings.Join(ends, "\n"))
	}
}

// TestNameOnDisk: the name of a new file is on disk before anything is kept in it.
func TestNameOnDisk(t *testing.T) {
	path := newPath(t)
	synced, told := -1, -1
	ends := returned(trace(t, path))
	for i, call := range ends {
		switch {
		case strings.HasPrefix(call, "fsync(") && strings.Contains(call, "<"+filepath.Dir(path)+">") && strings.HasSuffix(call, "= 0"):
			synced = i
		case strings.HasPrefix(call, "write(1"):
			told = i
		}
	}
	if !(0 <= synced && synced < told) {
		t.Errorf("folder synced %d, acknowledgement %d of these calls:\n%s", synced, told, strings.Join(ends, "\n"))
	}
}

// trace gives the system calls of a process that saves one record into path, as
// strace prints them.
//
// Source: strace(1), -f, -y, -e trace, and its "unfinished" and "resumed" lines.
func trace(t *testing.T, path string) []string {
	t.Helper()
	log := filepath.Join(t.TempDir(), "calls")
	save := child("save", path)
	cmd := exec.Command("strace", "-f", "-y", "-o", log, "-e", "trace=pwrite64,write,fdatasync,fsync,msync", save.Path)
	cmd.Env = save.Env
	out, err := cmd.CombinedOutput()
	if err != nil || !bytes.Contains(out, []byte(acknowledgement)) {
		missing(t, fmt.Sprintf("strace, or the right to trace a process: %v\n%s", err, out))
	}
	b, err := os.ReadFile(log)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(string(b), "\n")
}

// missing ends a test that needs something from outside.
func missing(t *testing.T, what string) {
	t.Helper()
	if inCI() {
		t.Fatal("missing: " + what)
	}
	t.Skip("missing: " + what)
}

// resumed is the second half of a call that another thread's interrupted.
var (
	callLine = regexp.MustCompile(`^(\d+) +(.*)$`)
	resumed  = regexp.MustCompile(`^<\.\.\. \w+ resumed>`)
)

// returned lists the calls in the order of their ends, with both halves joined.
// The acknowledgement counts from its beginning: it may be read before it returns.
func returned(lines []string) (calls []string) {
	open := map[string]string{}
	for _, line := range lines {
		m := callLine.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		thread, call := m[1], m[2]
		if head, unfinished := strings.CutSuffix(call, "<unfinished ...>"); unfinished {
			open[thread] = head
			if strings.HasPrefix(head, "write(1<") {
				calls = append(calls, head)
			}
			continue
		}
		if half := resumed.FindString(call); half != "" {
			call = open[thread] + call[len(half):]
			if strings.HasPrefix(call, "write(1<") {
				continue // listed when it began
			}
		}
		calls = append(calls, strings.TrimSpace(call))
	}
	return calls
}

// TestReturned: the reading of a trace itself.
func TestReturned(t *testing.T) {
	var log bytes.Buffer
	log.WriteString("7  pwrite64(3</s>, \"\"..., 4096, 0) = 4096\n" +
		"7  fdatasync(3</s> <unfinished ...>\n" +
		"8  write(1<pipe:[1]>, \"it\", 2 <unfinished ...>\n" +
		"7  <... fdatasync resumed>)          = 0\n" +
		"8  <... write resumed>)              = 2\n" +
		"8  +++ exited with 0 +++\n")
	var lines []string
	for s := bufio.NewScanner(&log); s.Scan(); {
		lines = append(lines, s.Text())
	}
	want := "pwrite64(3</s>, \"\"..., 4096, 0) = 4096\n" +
		"write(1<pipe:[1]>, \"it\", 2 \n" +
		"fdatasync(3</s> )          = 0\n" +
		"+++ exited with 0 +++"
	if got := strings.Join(returned(lines), "\n"); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
