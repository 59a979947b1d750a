package report

import (
	"bufio"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

type page func(w *bufio.Writer) error

func (p page) write(w *bufio.Writer) error { return p(w) }

// The report that was there stays until the new one is whole.
func TestFileTakesItsPlaceWhole(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "report.html")
	if err := os.WriteFile(name, []byte("before"), 0o600); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("broken")
	f, err := Create(name)
	if err != nil {
		t.Fatal(err)
	}
	err = f.Save(page(func(w *bufio.Writer) error { w.WriteString("half"); return broken }))
	if !errors.Is(err, broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
	holds(t, dir, name, "before")

	if f, err = Create(name); err != nil {
		t.Fatal(err)
	}
	if err := f.Save(page(func(w *bufio.Writer) error { _, err := w.WriteString("after"); return err })); err != nil {
		t.Fatal(err)
	}
	holds(t, dir, name, "after")
	if err := f.Close(); err != nil {
		t.Error(err)
	}
	holds(t, dir, name, "after")
}

// holds checks that a file is alone in its directory.
func holds(t *testing.T, dir, name, want string) {
	t.Helper()
	got, err := os.ReadFile(name)
	if err != nil || string(got) != want {
		t.Errorf("the file holds %q, %v, want %q", got, err, want)
	}
	if all, _ := os.ReadDir(dir); len(all) != 1 {
		t.Errorf("%d files are there, want 1", len(all))
	}
}

func TestFileIsRefusedEarly(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{dir, filepath.Join(dir, "no", "report.html"), os.DevNull} {
		if f, err := Create(name); err == nil {
			f.Close()
			t.Errorf("%s: no error", name)
		} else {
			t.Log(err)
		}
	}
}
