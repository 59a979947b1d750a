package report

import (
	"bufio"
	"crypto/rand"
	"fmt"
	"os"
	"path/filepath"
)

// A File is a report that is not there before all of it is written: until then it has
// another name beside its own.
type File struct {
	file *os.File
	name string
}

// Create begins a report. It is refused early where it could not be kept in the end.
func Create(name string) (*File, error) {
	if target, err := filepath.EvalSymlinks(name); err == nil {
		name = target
	}
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no file that a report could take the place of", name)
	}
	file, err := os.OpenFile(name+"."+rand.Text()[:8], os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		if path, ok := err.(*os.PathError); ok {
			path.Path = name // which is what the user wrote
		}
		return nil, err
	}
	return &File{file, name}, nil
}

// Close throws away what was not saved. A nil File has nothing to throw away.
func (f *File) Close() error {
	if f == nil || f.file == nil {
		return nil
	}
	f.file.Close()
	err := os.Remove(f.file.Name())
	f.file = nil
	return err
}

// A Page is what a report can be made of.
type Page interface{ write(w *bufio.Writer) error }

// Save writes a page and gives the report its name.
func (f *File) Save(p Page) error {
	w := bufio.NewWriter(f.file)
	err := p.write(w)
	for _, step := range [...]func() error{w.Flush, f.file.Sync, f.file.Close} {
		if stepErr := step(); err == nil {
			err = stepErr
		}
	}
	if err != nil {
		f.Close()
		return err
	}
	err = os.Rename(f.file.Name(), f.name)
	f.file = nil
	return err
}
