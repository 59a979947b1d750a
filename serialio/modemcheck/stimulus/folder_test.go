package stimulus

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// slow is a rate at which a set is written quickly.
const slow = 8000

// written writes a set with few waveforms into a new folder.
func written(t *testing.T, seed uint64, names ...string) (string, *Set) {
	t.Helper()
	s, err := New(seed, slow, DefaultFullScale)
	if err != nil {
		t.Fatal(err)
	}
	if names != nil {
		fewOf(s, names...)
	}
	dir := filepath.Join(t.TempDir(), "set")
	if err := s.Write(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	return dir, s
}

func TestManifestIsReadBack(t *testing.T) {
	dir, s := written(t, 5, "clean", "level-70", "tone-120", "noise-9", "second-talker")
	read, err := Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(s, read, cmpopts.IgnoreUnexported(Waveform{}), cmpopts.EquateEmpty()); diff != "" {
		t.Error(diff)
	}
}

// TestSameSeedSameFiles: a set follows from its seed, to the byte.
func TestSameSeedSameFiles(t *testing.T) {
	names := []string{"clean", "noise-10", "hum-50", "trapezoid", "second-talker"}
	a, s := written(t, 7, names...)
	b, _ := written(t, 7, names...)
	c, _ := written(t, 8, names...)
	for i := range s.Waveforms {
		file := s.Waveforms[i].File
		if digest(t, a, file) != digest(t, b, file) {
			t.Errorf("%s differs from run to run", file)
		}
		if digest(t, a, file) == digest(t, c, file) {
			t.Errorf("%s does not depend on the seed", file)
		}
	}
	if digest(t, a, manifestName) != digest(t, b, manifestName) {
		t.Error("the manifest differs from run to run")
	}
}

func digest(t *testing.T, dir, file string) [sha256.Size]byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, file))
	if err != nil {
		t.Fatal(err)
	}
	return sha256.Sum256(data)
}

// TestUsualSetIsOfReasonableSize: 16 bits at the usual rate.
func TestUsualSetIsOfReasonableSize(t *testing.T) {
	s := newSet(t, 1)
	if mb := (s.Seconds() + s.Calibration.Seconds) * DefaultRate * 2 / 1e6; mb > 60 {
		t.Errorf("a set has %.0f MB", mb)
	}
	for rate := range map[int]bool{LeastRate: true, 44100: true, 192000: true} {
		if _, err := New(1, rate, DefaultFullScale); err != nil {
			t.Error(err)
		}
	}
}

// TestWrongFolders wants the whole sentence, in which DIR stands for the folder.
func TestWrongFolders(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	set, s := written(t, 9, "clean")
	empty := t.TempDir()
	for _, tt := range []struct{ where, want string }{
		{file, "DIR/file is a file: want a folder that is new or empty"},
		{dir, "DIR is not empty, it holds file: want a folder that is new or empty"},
		{set, "SET holds a stimulus set already, of seed 9: want a folder that is new or empty"},
		{filepath.Join(dir, "no", "way"), "mkdir DIR/no/way: no such file or directory"},
		{filepath.Join(file, "below"), "stat DIR/file/below: not a directory"},
	} {
		check(t, s.Write(t.Context(), tt.where), tt.want, dir, set)
	}
	for _, tt := range []struct{ where, want string }{
		{file, "DIR/file is a file: want the folder of a stimulus set"},
		{filepath.Join(dir, "none"), "there is no folder DIR/none: make a stimulus set there first"},
		{empty, "EMPTY has no manifest.json: it is no stimulus set, or was not written to its end"},
	} {
		_, err := Read(tt.where)
		check(t, err, strings.ReplaceAll(tt.want, "EMPTY", empty), dir, set)
	}
	stopped, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.Write(stopped, empty); !errors.Is(err, context.Canceled) {
		t.Error(err)
	}
}

func check(t *testing.T, err error, want, dir, set string) {
	t.Helper()
	want = strings.ReplaceAll(strings.ReplaceAll(want, "DIR", dir), "SET", set)
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

// TestDamagedManifests wants the whole sentence.
func TestDamagedManifests(t *testing.T) {
	dir, _ := written(t, 1, "clean", "cable")
	text, err := os.ReadFile(filepath.Join(dir, manifestName))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ was, is, want string }{
		{"looptone stimulus 1", "looptone stimulus 2", `format "looptone stimulus 2" cannot be read: want "looptone stimulus 1"`},
		{`"seed": 1,`, `"seed" 1,`, "line 3: invalid character '1' after object key"},
		{`"seed": 1,`, `"seed": "one",`, "line 3: seed is a string, which does not belong there"},
		{`"name": "cable"`, `"name": "clean"`, `waveform 2 has the name "clean": want one that no other has`},
		{`"parity and framing"`, `"parity"`, `waveform clean: there is no limit "parity"`},
		{`"at": 0.254167`, `"at": 8.9`, "waveform clean: message 1 stands at 8.9 s, which is not behind the one before or not within the 9.1 s of the file"},
		{`"bytes": "ffff`, `"bytes": "fffe`, "waveform clean: message 1 is no frame with a right check byte behind preambles"},
		{`"bytes": "ffff`, `"bytes": "fffx`, ""},
		{"\n}\n", "\n}\n}\n", "something stands behind its end"},
	} {
		damaged := bytes.Replace(text, []byte(tt.was), []byte(tt.is), 1)
		if bytes.Equal(damaged, text) {
			t.Fatalf("the manifest has no %s", tt.was)
		}
		_, err := parse(damaged)
		if err == nil || tt.want != "" && err.Error() != tt.want {
			t.Errorf("%s:\ngot  %v\nwant %s", tt.is, err, tt.want)
		}
	}
	if _, err := parse(text[:len(text)/2]); err == nil || err.Error() != "ends too early: it is damaged" {
		t.Error(err)
	}
}

// TestLittleRoom: what does not fit is refused, and what would.
func TestLittleRoom(t *testing.T) {
	_, err := New(1, 48000, 0.3)
	if want := "a full scale of 0.3 V does not hold hum-50 at 48000 samples a second: want 0.8 V or more"; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	_, err = New(1, MostRate, 1)
	if want := "a full scale of 1 V does not hold noise-9 at 1000000 samples a second: want 2.0 V or more"; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}
