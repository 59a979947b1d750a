package capture

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
)

// Append opens a file for a recording. One that does not exist is made; to a capture
// file the recording is appended, on a new line; anything else is refused.
func Append(name string) (File, error) {
	how := os.O_RDWR
	if isPipe(name) {
		how = os.O_WRONLY // so that it ends for its reader when the recording does
	}
	f, err := os.OpenFile(name, how|os.O_APPEND|os.O_CREATE, 0o666)
	if err != nil {
		return nil, err
	}
	fresh, err := endsWithItsLine(f)
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("%s %w", name, withoutPath(err))
	}
	return &disk{f, fresh}, nil
}

var errForeign = errors.New("exists and is no looptone capture: want a name that is free, or a capture to append to")

// endsWithItsLine has what is appended to f begin on a line of its own. A file without
// anything is fresh.
func endsWithItsLine(f *os.File) (fresh bool, err error) {
	info, err := f.Stat()
	switch {
	case err != nil || !info.Mode().IsRegular():
		return false, err
	case info.Size() == 0:
		return true, nil
	}
	if in := newInput(io.NewSectionReader(f, 0, chunk), f.Name()); !in.more() || !isFile(in) {
		return false, errForeign
	}
	last := []byte{0}
	if _, err = f.ReadAt(last, info.Size()-1); err == nil && last[0] != '\n' {
		_, err = f.Write([]byte{'\n'})
	}
	return false, err
}

func isPipe(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.Mode()&os.ModeNamedPipe != 0
}

// Numbered are the files of a recording that begins another one now and then:
// trace-0001.txt, trace-0002.txt and so on, behind those that are there.
type Numbered struct {
	Name string // without a number: trace.txt
	last int    // number of the last one, once it is known
}

// Open makes the next file. None is ever written over.
func (n *Numbered) Open() (File, error) {
	if n.last == 0 {
		if err := n.find(); err != nil {
			return nil, err
		}
	}
	for {
		n.last++
		f, err := os.OpenFile(n.name(n.last), os.O_WRONLY|os.O_APPEND|os.O_CREATE|os.O_EXCL, 0o666)
		if err == nil {
			return &disk{f, true}, nil
		}
		if !errors.Is(err, os.ErrExist) {
			n.last--
			return nil, err
		}
	}
}

func (n *Numbered) name(number int) string {
	extension := filepath.Ext(n.Name)
	return fmt.Sprintf("%s-%04d%s", strings.TrimSuffix(n.Name, extension), number, extension)
}

// find looks for the highest number that is there.
func (n *Numbered) find() error {
	entries, err := os.ReadDir(filepath.Dir(n.Name))
	if err != nil {
		return err
	}
	extension := filepath.Ext(n.Name)
	stem := filepath.Base(strings.TrimSuffix(n.Name, extension)) + "-"
	for _, e := range entries {
		digits, ok := strings.CutPrefix(strings.TrimSuffix(e.Name(), extension), stem)
		if number, err := strconv.Atoi(digits); ok && err == nil && strings.HasSuffix(e.Name(), extension) {
			n.last = max(n.last, number)
		}
	}
	return nil
}

// disk is a file on a disk, or what stands in its place.
type disk struct {
	*os.File
	fresh bool // it was empty when it was opened
}

// Close has what was written on the disk when it returns, where that can be had.
func (d *disk) Close() error {
	var err error
	if info, statErr := d.Stat(); statErr == nil && info.Mode().IsRegular() {
		err = d.Sync()
	}
	return errors.Join(err, d.File.Close())
}

func (d *disk) Discard() error {
	err := d.File.Close()
	if d.fresh {
		err = errors.Join(err, os.Remove(d.Name()))
	}
	return err
}
