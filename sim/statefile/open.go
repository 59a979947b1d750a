package statefile

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// lockTimeout bounds the wait for another process, which Open does twice.
const lockTimeout = 400 * time.Millisecond

// open opens a file whose every page is known to be in order: it looks at it
// under a shared lock, without writing, before it takes the lock for itself.
func open(path string) (*bbolt.DB, error) {
	if err := provide(path); err != nil {
		return nil, err
	}
	if err := verify(path); err != nil {
		return nil, err
	}
	db, err := bbolt.Open(path, 0, &bbolt.Options{Timeout: lockTimeout, OpenFile: openExisting})
	if err != nil {
		return nil, refusal(err)
	}
	sweep(path)
	return db, nil
}

// openExisting never makes a file: bbolt would leave a half-made one behind when
// it is killed.
func openExisting(path string, flag int, mode fs.FileMode) (*os.File, error) {
	return os.OpenFile(path, flag&^os.O_CREATE, mode)
}

// provide sees to it that there is a file, and refuses what cannot be one.
func provide(path string) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if target, err := os.Readlink(path); err == nil { // a link to nothing yet
			return provide(beside(path, target))
		}
		return create(path)
	case err != nil:
		return err
	case !info.Mode().IsRegular():
		return fmt.Errorf("%w: got a %s, want a file", ErrForeign, kind(info.Mode()))
	case info.Size() == 0:
		return fmt.Errorf("%w: it is empty; if nothing was in it, remove it and a new one is made", ErrForeign)
	}
	return nil
}

// beside is where a link at path leads.
func beside(path, target string) string {
	if filepath.IsAbs(target) {
		return target
	}
	return filepath.Join(filepath.Dir(path), target)
}

func kind(mode fs.FileMode) string {
	switch {
	case mode.IsDir():
		return "folder"
	case mode&fs.ModeNamedPipe != 0:
		return "pipe"
	case mode&fs.ModeSocket != 0:
		return "socket"
	}
	return "device"
}

// verify refuses what is damaged, foreign or newer.
func verify(path string) error {
	var file *os.File
	db, err := bbolt.Open(path, 0, &bbolt.Options{ReadOnly: true, Timeout: lockTimeout,
		OpenFile: func(path string, flag int, mode fs.FileMode) (_ *os.File, err error) {
			file, err = os.OpenFile(path, flag, mode)
			return file, err
		}})
	if err != nil {
		return refusal(err)
	}
	defer db.Close()
	if err := checkPages(file, db.Info().PageSize); err != nil {
		return err
	}
	return db.View(checkContents)
}

// refusal says in our words why bbolt does not open a file.
func refusal(err error) error {
	_, system := errors.AsType[*fs.PathError](err)
	switch {
	case system:
		return err
	case errors.Is(err, berrors.ErrTimeout):
		return ErrInUse
	case errors.Is(err, berrors.ErrChecksum):
		return fmt.Errorf("%w: neither of its first two pages is whole", ErrDamaged)
	}
	return ErrForeign
}

// create makes a new file. It gets its name when it is whole and on disk. A file
// that another process made meanwhile is not replaced.
func create(path string) error {
	name, err := draft(path)
	if err != nil {
		return err
	}
	defer os.Remove(name)
	err = publish(name, path)
	if _, there := os.Stat(path); err != nil && there != nil {
		return err
	}
	return syncFolder(filepath.Dir(path))
}

// publish gives a draft its name. A link, unlike a renamed file, replaces
// nothing, but some file systems have none.
func publish(name, path string) error {
	if err := os.Link(name, path); err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	return os.Rename(name, path)
}

// draft makes a whole file under a name of its own beside path.
func draft(path string) (name string, err error) {
	file, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*"+draftSuffix)
	if err != nil {
		return "", err
	}
	name = file.Name()
	if err := errors.Join(file.Close(), fill(name)); err != nil {
		os.Remove(name)
		return "", err
	}
	return name, nil
}

const draftSuffix = ".new"

// sweep removes drafts that a killed process left. While the file is ours no
// draft can become it any more.
func sweep(path string) {
	folder, base := filepath.Split(path)
	entries, err := os.ReadDir(filepath.Clean(folder))
	if err != nil {
		return // they are in nobody's way
	}
	for _, e := range entries {
		middle, ours := strings.CutPrefix(e.Name(), base+".")
		middle, draft := strings.CutSuffix(middle, draftSuffix)
		if ours && draft && middle != "" && strings.Trim(middle, "0123456789") == "" {
			os.Remove(filepath.Join(folder, e.Name()))
		}
	}
}
