package statefile

import (
	"fmt"
	"os"
	"strings"
	"syscall"
	"testing"

	"looptone/sim/device"
)

func init() { children["full"] = fillUp }

// TestFullDisk lets the system refuse to make the file larger. Each saving says
// so, what was kept stays, and when there is room again the file goes on. The
// limit is one of a whole process, so it is another one.
func TestFullDisk(t *testing.T) {
	path := newPath(t)
	f := mustOpen(t, path)
	mustSave(t, f, number(0), device.Memory{Changes: 1})
	f.Close()
	out, err := child("full", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	failed := "state file " + path + ": file resize error: truncate " + path + ": " + syscall.EFBIG.Error() + "\n"
	if want := strings.Repeat(failed, 3) + "kept 1\n<nil>\nkept 2\n"; string(out) != want {
		t.Errorf("got\n%s\nwant\n%s", out, want)
	}
	if got := mustLoad(t, mustOpen(t, path), number(0)).Changes; got != 2 {
		t.Errorf("with room again %d is kept, want 2", got)
	}
}

// fillUp saves more than it may three times, and once when it may, and says what
// became of it.
func fillUp(f *File) {
	info, err := os.Stat(f.path)
	check(err)
	var limit syscall.Rlimit
	check(syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit))
	check(syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: uint64(info.Size()), Max: limit.Max}))
	large := device.Memory{Changes: 2, Message: new(strings.Repeat("x", int(info.Size())))}
	save := func() {
		_, err := f.Waiting().Save(number(0), large).Done()
		fmt.Println(err)
	}
	show := func() {
		m, _, err := f.Load(number(0))
		check(err)
		fmt.Println("kept", m.Changes)
	}
	save()
	save()
	save()
	show()
	check(syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit))
	save()
	show()
	check(f.Close())
}
