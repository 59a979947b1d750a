package statefile

import (
	"bufio"
	"errors"
	"math"
	"math/rand"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"testing/quick"
	"time"

	"looptone/frame"
	"looptone/sim/device"
	"looptone/sim/transmitter"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"go.etcd.io/bbolt"
)

var _ device.Store = (*File)(nil)

// TestMemoryComesBack saves memories with every field of device.Memory at random,
// also those that are added to it one day.
func TestMemoryComesBack(t *testing.T) {
	path := newPath(t)
	r := rand.New(rand.NewSource(1))
	want := map[frame.Address]device.Memory{}
	f := mustOpen(t, path)
	for n := range 20 {
		v, ok := quick.Value(reflect.TypeFor[device.Memory](), r)
		if !ok {
			t.Fatal("a memory has a field that cannot be made up")
		}
		m := v.Interface().(device.Memory)
		m.Borrowed = nil // which is never kept
		want[number(n)] = m
		mustSave(t, f, number(n), want[number(n)])
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	f = mustOpen(t, path)
	for a, m := range want {
		if diff := cmp.Diff(m, mustLoad(t, f, a), cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%v: %s", a, diff)
		}
	}
}

func TestDevicesAndForget(t *testing.T) {
	path := newPath(t)
	f := mustOpen(t, path)
	mustSave(t, f, number(3), device.Memory{KnownAs: "LT-103"})
	mustSave(t, f, number(1), device.Memory{Changes: 7})
	mustSave(t, f, number(2), device.Memory{KnownAs: "FT-102"})
	want := []Entry{{number(1), ""}, {number(2), "FT-102"}, {number(3), "LT-103"}}
	if diff := cmp.Diff(want, f.Devices(), cmp.Comparer(func(a, b frame.Address) bool { return a == b })); diff != "" {
		t.Error(diff)
	}
	if err := f.Forget(number(2)); err != nil {
		t.Fatal(err)
	}
	if err := f.Forget(number(2)); !errors.Is(err, ErrUnknown) {
		t.Errorf("forgotten twice: %v", err)
	}
	f.Close()
	f = mustOpen(t, path)
	if _, known, err := f.Load(number(2)); known || err != nil {
		t.Errorf("a forgotten device: known %v, %v", known, err)
	}
	if got := mustLoad(t, f, number(1)).Changes; got != 7 {
		t.Errorf("another device's changes are %d, want 7", got)
	}
}

// TestSavedIsACopy: what the device changes behind Save is not what is kept.
func TestSavedIsACopy(t *testing.T) {
	f := mustOpen(t, newPath(t))
	m := device.Memory{Tag: new("LT-103")}
	hold, err := f.db.Begin(true)
	if err != nil {
		t.Fatal(err)
	}
	b := f.save(number(1), m)
	*m.Tag = "LT-999"
	hold.Rollback()
	<-b.done
	if got := *mustLoad(t, f, number(1)).Tag; got != "LT-103" {
		t.Errorf("kept %q", got)
	}
}

// TestWaitingRecordsGoTogether holds the writer up: what is saved meanwhile is
// one transaction, and the newest of each device counts.
func TestWaitingRecordsGoTogether(t *testing.T) {
	f := mustOpen(t, newPath(t))
	hold, err := f.db.Begin(true)
	if err != nil {
		t.Fatal(err)
	}
	before := hold.ID() - 1
	first := f.save(number(0), device.Memory{Changes: 1})
	for taken := false; !taken; { // until the writer has it and waits for us
		f.mu.Lock()
		taken = f.next == nil
		f.mu.Unlock()
	}
	var saved []device.Saving
	for n := range 100 {
		saved = append(saved, f.Save(number(n%5), device.Memory{Changes: uint16(100 + n)}))
	}
	for i, s := range append(saved, first) {
		if done, _ := s.Done(); done {
			t.Fatalf("saving %d is done before it is written", i)
		}
	}
	hold.Rollback()
	<-first.done
	<-saved[0].(*batch).done
	for i, s := range saved {
		if done, err := s.Done(); !done || err != nil {
			t.Errorf("saving %d: done %v, %v", i, done, err)
		}
	}
	for n := range 5 {
		if got, want := mustLoad(t, f, number(n)).Changes, uint16(195+n); got != want {
			t.Errorf("device %d: got %d, want %d", n, got, want)
		}
	}
	f.db.View(func(tx *bbolt.Tx) error {
		if got := tx.ID() - before; got != 2 {
			t.Errorf("101 records took %d transactions, want 2", got)
		}
		return nil
	})
}

// TestCloseWaits: what was saved before Close is there.
func TestCloseWaits(t *testing.T) {
	path := newPath(t)
	f := mustOpen(t, path)
	s := f.Save(number(1), device.Memory{Changes: 5})
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	if done, err := s.Done(); !done || err != nil {
		t.Errorf("done %v, %v", done, err)
	}
	if got := mustLoad(t, mustOpen(t, path), number(1)).Changes; got != 5 {
		t.Errorf("got %d, want 5", got)
	}
}

func TestClosed(t *testing.T) {
	f := mustOpen(t, newPath(t))
	for range 2 {
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
	}
	done, saveErr := f.Save(number(1), device.Memory{}).Done()
	_, _, loadErr := f.Load(number(1))
	for what, err := range map[string]error{"save": saveErr, "load": loadErr, "forget": f.Forget(number(1))} {
		if want := "state file " + f.path + ": closed"; !errors.Is(err, ErrClosed) || err.Error() != want {
			t.Errorf("%s: got %v, want %s", what, err, want)
		}
	}
	if !done || f.Devices() != nil {
		t.Error("a closed file saves or lists devices")
	}
}

func TestWhatCannotBeSaved(t *testing.T) {
	f := mustOpen(t, newPath(t))
	at := "state file " + f.path + ": device "
	for _, c := range []struct {
		device frame.Address
		memory device.Memory
		want   string
	}{
		{frame.Polling(3), device.Memory{}, "3: got a polling address, want a unique one"},
		{number(1), device.Memory{Totals: &device.Totals{Totals: transmitter.Totals{Net: math.NaN()}}}, "3901000001: json: unsupported value: NaN"},
	} {
		if done, err := f.Save(c.device, c.memory).Done(); !done || err == nil || err.Error() != at+c.want {
			t.Errorf("done %v\ngot  %v\nwant %s", done, err, at+c.want)
		}
	}
	mustSave(t, f, number(1), device.Memory{})
}

// TestRecordOfANewerVersion: the field that nobody knows here would be lost with
// the next write, so the device is refused; it can still be forgotten.
func TestRecordOfANewerVersion(t *testing.T) {
	f := mustOpen(t, newPath(t))
	mustSave(t, f, number(2), device.Memory{Changes: 2})
	for record, cause := range map[string]string{
		`{"tag":"LT-103","colour":"red"}`: `json: unknown field "colour"`,
		`{"tag":`:                         "unexpected EOF",
		`{"changes":70000}`:               "json: cannot unmarshal number 70000 into Go struct field Memory.changes of type uint16",
	} {
		<-f.put(number(1), []byte(record)).done
		want := "state file " + f.path + ": device 3901000001: a newer version wrote it, or its record is damaged: " + cause
		m, known, err := f.Load(number(1))
		if !known || !errors.Is(err, ErrNewer) || err.Error() != want {
			t.Errorf("known %v\ngot  %v\nwant %s", known, err, want)
		}
		if diff := cmp.Diff(device.Memory{}, m); diff != "" {
			t.Errorf("half a record: %s", diff)
		}
	}
	if got := mustLoad(t, f, number(2)).Changes; got != 2 {
		t.Errorf("another device's changes are %d, want 2", got)
	}
	if err := f.Forget(number(1)); err != nil {
		t.Error(err)
	}
}

func hold(*File) {
	os.Stdout.WriteString("open\n")
	bufio.NewReader(os.Stdin).ReadByte() // until the parent is done
}

func TestInUse(t *testing.T) {
	path := newPath(t)
	cmd := child("hold", path)
	stdin, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if line, err := bufio.NewReader(stdout).ReadString('\n'); line != "open\n" {
		t.Fatalf("the other process said %q, %v", line, err)
	}
	begin := time.Now()
	_, err = Open(path)
	if want := "state file " + path + ": in use by another process"; !errors.Is(err, ErrInUse) || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	if took := time.Since(begin); took > time.Second {
		t.Errorf("it took %v to say so", took)
	}
	stdin.Close()
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	mustOpen(t, path)
}

// TestDraftsAreSwept: what a kill leaves while a file is made is removed, and
// nothing else.
func TestDraftsAreSwept(t *testing.T) {
	path := newPath(t)
	stay := []string{"other.state.12.new", "plant.state.1a.new", "plant.state..new", "plant.state.12.news"}
	for _, name := range append(stay, "plant.state.3141592653.new", "plant.state.7.new") {
		if err := os.WriteFile(filepath.Join(filepath.Dir(path), name), []byte("half a fi"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	mustOpen(t, path)
	entries, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	var left []string
	for _, e := range entries {
		left = append(left, e.Name())
	}
	want := []string{"other.state.12.new", "plant.state", "plant.state..new", "plant.state.12.news", "plant.state.1a.new"}
	if diff := cmp.Diff(want, left); diff != "" {
		t.Error(diff)
	}
}

// TestMadeMeanwhile: of two processes that make the file at one moment the slower
// one does not replace what the other may have filled.
func TestMadeMeanwhile(t *testing.T) {
	path := newPath(t)
	name, err := draft(path)
	if err != nil {
		t.Fatal(err)
	}
	f := mustOpen(t, path) // sweeps the draft
	mustSave(t, f, number(1), device.Memory{Changes: 9})
	f.Close()
	if err := publish(name, path); err == nil {
		t.Error("a swept draft was published")
	}
	if err := create(path); err != nil {
		t.Errorf("the slower one: %v", err)
	}
	if left, err := filepath.Glob(path + ".*"); left != nil || err != nil {
		t.Errorf("it left %q, %v", left, err)
	}
	if got := mustLoad(t, mustOpen(t, path), number(1)).Changes; got != 9 {
		t.Errorf("got %d, want 9", got)
	}
}

// TestGoneMeanwhile: a file that goes away while it is opened is not made by
// bbolt, which does not make it at one stroke.
func TestGoneMeanwhile(t *testing.T) {
	path := newPath(t)
	if _, err := bbolt.Open(path, 0o600, &bbolt.Options{OpenFile: openExisting}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("it was made")
	}
}

// A link to nothing yet leads to where the file is made.
func TestLinkToNothing(t *testing.T) {
	path := newPath(t)
	link := path + ".link"
	if err := os.Symlink(filepath.Base(path), link); err != nil {
		if inCI() {
			t.Fatal(err)
		}
		t.Skip(err) // not everybody may make one on Windows
	}
	mustSave(t, mustOpen(t, link), number(1), device.Memory{Changes: 7})
	if info, err := os.Lstat(path); err != nil || !info.Mode().IsRegular() {
		t.Errorf("got %v, %v, want a file where the link leads", info, err)
	}
}
