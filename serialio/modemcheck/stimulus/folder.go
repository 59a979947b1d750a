package stimulus

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// manifestName is the file in a folder that says what it is.
const manifestName = "manifest.json"

// Write writes a set into a folder, which is made, or is empty. The manifest comes last: a
// folder without one was not written to its end.
func (s *Set) Write(ctx context.Context, dir string) error {
	if err := makeFolder(dir); err != nil {
		return err
	}
	if err := s.writeFile(filepath.Join(dir, s.Calibration.File), s.Calibration.Seconds, s.tone()); err != nil {
		return err
	}
	for i := range s.Waveforms {
		w := &s.Waveforms[i]
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := s.writeFile(filepath.Join(dir, w.File), w.Seconds, &w.sound); err != nil {
			return err
		}
	}
	text, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, manifestName), append(text, '\n'), 0o666)
}

// makeFolder makes a folder, or finds one that is empty.
func makeFolder(dir string) error {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return os.Mkdir(dir, 0o777)
	case err != nil:
		return err
	case !info.IsDir():
		return fmt.Errorf("%s is a file: want a folder that is new or empty", dir)
	}
	entries, err := os.ReadDir(dir)
	switch {
	case err != nil:
		return err
	case len(entries) == 0:
		return nil
	}
	if s, err := Read(dir); err == nil {
		return fmt.Errorf("%s holds a stimulus set already, of seed %d: want a folder that is new or empty", dir, s.Seed)
	}
	return fmt.Errorf("%s is not empty, it holds %s: want a folder that is new or empty", dir, entries[0].Name())
}
