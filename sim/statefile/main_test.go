package statefile

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"looptone/frame"
	"looptone/sim/device"

	"go.uber.org/goleak"
)

// Several tests need another process. It is this test program with childMode in
// its environment.
const (
	childMode = "STATEFILE_TEST_CHILD"
	childPath = "STATEFILE_TEST_PATH"
)

var children = map[string]func(*File){"count": countForEver, "hold": hold}

func TestMain(m *testing.M) {
	work, child := children[os.Getenv(childMode)]
	if !child {
		goleak.VerifyTestMain(m)
		return
	}
	f, err := Open(os.Getenv(childPath))
	check(err)
	work(f)
}

// child is a process that opens the state file and does what mode says.
func child(mode, path string) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childMode+"="+mode, childPath+"="+path)
	cmd.Stderr = os.Stderr
	return cmd
}

// number is the address of one of the devices that tests save.
func number(n int) frame.Address { return frame.Unique(0x3901, uint32(n)) }

func newPath(t testing.TB) string { return filepath.Join(t.TempDir(), "plant.state") }

func mustOpen(t testing.TB, path string) *File {
	t.Helper()
	f, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}

func mustSave(t testing.TB, f *File, a frame.Address, m device.Memory) {
	t.Helper()
	if done, err := f.Waiting().Save(a, m).Done(); !done || err != nil {
		t.Fatalf("%v: done %v, %v", a, done, err)
	}
}

func mustLoad(t testing.TB, f *File, a frame.Address) device.Memory {
	t.Helper()
	m, known, err := f.Load(a)
	if !known || err != nil {
		t.Fatalf("%v: known %v, %v", a, known, err)
	}
	return m
}

// text is a memory as it can be compared.
func text(t testing.TB, m device.Memory) string {
	t.Helper()
	b, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// check ends a child that cannot go on.
func check(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}
