package statefile

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"time"

	"looptone/sim/device"

	"go.etcd.io/bbolt"
)

// TestRefused: what is no state file of this version is left as it is.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name string
		make func(t *testing.T, path string)
		is   error
		want string
	}{
		{"empty", contents(""), ErrForeign, "not a state file: it is empty; if nothing was in it, remove it and a new one is made"},
		{"one byte", contents("x"), ErrForeign, "not a state file"},
		{"line file", contents("[line]\nname = \"Quillmere\"\n"), ErrForeign, "not a state file"},
		{"picture", contents("\x89PNG\r\n\x1a\n" + string(make([]byte, 40_000))), ErrForeign, "not a state file"},
		{"zeros", contents(string(make([]byte, 1<<17))), ErrForeign, "not a state file"},
		{"other bbolt file", otherProgram, ErrForeign, "not a state file: another program keeps its data in it"},
		{"newer", head(formatKey, "2"), ErrNewer, "a newer version wrote it: its format is 2, this version knows 1"},
		{"no number", head(formatKey, "one"), ErrDamaged, `damaged: its format is "one"`},
		{"older than the first", head(formatKey, "0"), ErrDamaged, `damaged: its format is "0"`},
		{"digest of another", head(digestKey, "?"), ErrDamaged, "damaged: the records are not those that were written"},
		{"bucket lost", change(func(tx *bbolt.Tx) error { return tx.DeleteBucket(devicesBucket) }),
			ErrDamaged, "damaged: the records are not those that were written"},
		{"record lost", change(func(tx *bbolt.Tx) error { return tx.Bucket(devicesBucket).Delete(key(number(1))) }),
			ErrDamaged, "damaged: the records are not those that were written"},
		{"no address", change(func(tx *bbolt.Tx) error {
			return errors.Join(tx.Bucket(devicesBucket).Put([]byte("LT-103"), []byte("{}")), seal(tx))
		}), ErrDamaged, `damaged: unique address "LT-103" has 6 characters, want 10 hex digits`},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := newPath(t)
			c.make(t, path)
			before := look(t, path)
			_, err := Open(path)
			checkRefused(t, err, c.is, "state file "+path+": "+c.want)
			if after := look(t, path); !before.same(after) {
				t.Error("the file was touched")
			}
		})
	}
}

func TestRefusedPlaces(t *testing.T) {
	folder := t.TempDir()
	_, err := Open(folder)
	checkRefused(t, err, ErrForeign, "state file "+folder+": not a state file: got a folder, want a file")
	_, err = Open(os.DevNull)
	checkRefused(t, err, ErrForeign, "state file "+os.DevNull+": not a state file: got a device, want a file")
	nowhere := filepath.Join(folder, "nowhere", "plant.state")
	_, err = Open(nowhere)
	checkRefused(t, err, os.ErrNotExist, "state file "+nowhere+": no such file or directory")
}

func checkRefused(t *testing.T, err, is error, want string) {
	t.Helper()
	if _, ok := errors.AsType[*Error](err); !ok || !errors.Is(err, is) || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func contents(s string) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		if err := os.WriteFile(path, []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
	}
}

// change makes a state file with one device and changes it behind its back.
func change(do func(*bbolt.Tx) error) func(*testing.T, string) {
	return func(t *testing.T, path string) {
		f := mustOpen(t, path)
		mustSave(t, f, number(1), device.Memory{Changes: 1})
		if err := errors.Join(f.db.Update(do), f.Close()); err != nil {
			t.Fatal(err)
		}
	}
}

func head(key []byte, value string) func(*testing.T, string) {
	return change(func(tx *bbolt.Tx) error { return tx.Bucket(headBucket).Put(key, []byte(value)) })
}

func otherProgram(t *testing.T, path string) {
	db, err := bbolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		b, err := tx.CreateBucket([]byte("devices"))
		return errors.Join(err, b.Put([]byte("3901000001"), []byte("{}")))
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
}

// A sight is all that must not change of a file that is refused.
type sight struct {
	contents []byte
	modified time.Time
}

func look(t *testing.T, path string) sight {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return sight{b, info.ModTime()}
}

func (s sight) same(o sight) bool {
	return bytes.Equal(s.contents, o.contents) && s.modified.Equal(o.modified)
}
