package statefile

import (
	"bytes"
	"errors"
	"math/rand"
	"os"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/sim/device"

	"go.etcd.io/bbolt"
)

// A history is every state that a file was acknowledged in, the newest last: the
// memory of each device as text.
type history []map[int]string

// devicesInDamage are enough for a tree of several pages.
const devicesInDamage = 60

// sparse addresses leave room for others between them: a wrong key may stand in
// the right order.
func sparse(n int) frame.Address { return number(n * 0x101) }

// written is a state file, and how it came about.
func written(t *testing.T) (file []byte, h history) {
	t.Helper()
	path := newPath(t)
	f := mustOpen(t, path)
	state := map[int]string{}
	save := func(n int) {
		m := device.Memory{Changes: uint16(len(h)), Message: new(strings.Repeat("QUILLMERE ", 1+n%40))}
		mustSave(t, f, sparse(n), m)
		state[n] = text(t, m)
		copied := map[int]string{}
		for n, m := range state {
			copied[n] = m
		}
		h = append(h, copied)
	}
	for n := range devicesInDamage {
		save(n)
	}
	for n := range 20 {
		save(n * 7 % devicesInDamage)
	}
	f.Close()
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return file, h
}

// A trial counts what became of damaged files.
type trial struct {
	path                   string
	history                history
	refused, newest, older int
}

// try opens a file that was damaged. It must be refused and stay as it is, or
// come back in a state that was acknowledged.
func (d *trial) try(t *testing.T, what string, file []byte) {
	t.Helper()
	if err := os.WriteFile(d.path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Open(d.path)
	if err != nil {
		d.refused++
		d.checkRefusal(t, what, err, file)
		return
	}
	defer f.Close()
	state := map[int]string{}
	for n := range devicesInDamage {
		if m, known, err := f.Load(sparse(n)); err != nil {
			t.Errorf("%s: %v", what, err)
		} else if known {
			state[n] = text(t, m)
		}
	}
	switch age := d.age(state); {
	case age < 0 || len(f.Devices()) != len(state):
		t.Errorf("%s: opened in a state that never was", what)
	case age == 0:
		d.newest++
	default:
		d.older++
	}
	checkGoesOn(t, what, f)
}

func (d *trial) checkRefusal(t *testing.T, what string, err error, file []byte) {
	t.Helper()
	if !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrForeign) {
		t.Errorf("%s: refused as %v", what, err)
	}
	if after, err := os.ReadFile(d.path); err != nil || !bytes.Equal(after, file) {
		t.Errorf("%s: touched although refused, %v", what, err)
	}
}

// age is how many writes ago the state was; -1: never.
func (d *trial) age(state map[int]string) int {
	for i, h := range slices.Backward(d.history) {
		if len(h) != len(state) {
			continue
		}
		same := true
		for n, m := range h {
			same = same && state[n] == m
		}
		if same {
			return len(d.history) - 1 - i
		}
	}
	return -1
}

// checkGoesOn writes to an accepted file, twice because that replaces both pages
// that bbolt begins with, and has bbolt's own check look at what came of it.
//
// Source: go.etcd.io/bbolt v1.5.0, tx_check.go.
func checkGoesOn(t *testing.T, what string, f *File) {
	t.Helper()
	f.db.NoSync = true // thousands of files, and no loss of power
	for changes := range uint16(2) {
		mustSave(t, f, sparse(1), device.Memory{Changes: 60_000 + changes})
	}
	if got := mustLoad(t, f, sparse(1)).Changes; got != 60_001 {
		t.Errorf("%s: what was saved into it reads %d", what, got)
	}
	f.db.View(func(tx *bbolt.Tx) error {
		for err := range tx.Check() {
			t.Errorf("%s: accepted, but %v", what, err)
		}
		if err := checkContents(tx); err != nil {
			t.Errorf("%s: accepted, but %v", what, err)
		}
		return nil
	})
}

// damage is one file with many things done to it, one after another.
func damage(t *testing.T) (pristine []byte, d *trial) {
	t.Helper()
	pristine, h := written(t)
	d = &trial{path: newPath(t), history: h}
	d.try(t, "whole", pristine)
	if d.newest != 1 {
		t.Fatal("a whole file does not open in its last state")
	}
	return pristine, d
}

// testPage is what bbolt takes as page size for a new file.
var testPage = os.Getpagesize()

func TestDamagedPages(t *testing.T) {
	pristine, d := damage(t)
	pages := len(pristine) / testPage
	for n := range pages {
		file := bytes.Clone(pristine)
		clear(file[n*testPage : (n+1)*testPage])
		d.try(t, "page zeroed", file)
		d.try(t, "page filled with ff", slices.Replace(file, n*testPage, (n+1)*testPage, bytes.Repeat([]byte{0xff}, testPage)...))
		for other := range pages {
			copy(file[n*testPage:(n+1)*testPage], pristine[other*testPage:])
			d.try(t, "page written over by another", file)
		}
	}
	for _, cut := range []int{1, 100, testPage, testPage + 1, 5 * testPage} {
		d.try(t, "cut", pristine[:len(pristine)-cut])
	}
	for n := range pages {
		d.try(t, "cut", pristine[:n*testPage+n])
		d.try(t, "cut and filled up", append(bytes.Clone(pristine[:n*testPage]), make([]byte, (pages-n)*testPage)...))
	}
	d.report(t)
}

// TestDamagedBits turns over bits where every one counts, and others by chance.
func TestDamagedBits(t *testing.T) {
	pristine, d := damage(t)
	r := rand.New(rand.NewSource(1))
	flip := func(at int, bits byte) {
		file := bytes.Clone(pristine)
		file[at] ^= bits
		d.try(t, "bits turned over", file)
	}
	for n := range len(pristine) / testPage {
		for at := range 80 { // meta, heads, elements
			flip(n*testPage+at, 1<<r.Intn(8))
		}
	}
	for range 600 {
		flip(r.Intn(len(pristine)), byte(1+r.Intn(255)))
	}
	d.report(t)
}

// report fails a trial in which the damage hit nothing, or everything.
func (d *trial) report(t *testing.T) {
	t.Helper()
	t.Logf("refused %d, opened in the newest state %d, in an older one %d", d.refused, d.newest, d.older)
	if d.refused < 20 || d.newest < 20 || d.older < 1 {
		t.Error("the damage was not of all kinds")
	}
}
