package statefile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"looptone/frame"
	"looptone/sim/device"

	"go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// A File is an open state file. It may be used by several goroutines.
type File struct {
	path string
	db   *bbolt.DB

	mu      sync.Mutex
	next    *batch        // collects what is saved until it is written; nil: nothing
	wake    chan struct{} // holds one token while there is a next
	closed  bool
	written chan struct{} // closed when the writer has ended
}

// Open opens the state file, or makes it where there is none. Other processes
// are kept out until Close. A file that is not one, was written by a newer
// version or is damaged is refused and left as it is. So is an empty file: a
// state file is never empty, so its contents may have been lost, and to begin
// again with factory values is for the user to decide.
func Open(path string) (*File, error) {
	db, err := open(path)
	if err != nil {
		return nil, &Error{path, cause(err)}
	}
	f := &File{path: path, db: db, wake: make(chan struct{}, 1), written: make(chan struct{})}
	go f.write()
	return f, nil
}

// Close waits for what is on its way and lets other processes in. What is saved
// behind it fails with [ErrClosed].
func (f *File) Close() error {
	f.mu.Lock()
	if !f.closed {
		f.closed = true
		close(f.wake)
	}
	f.mu.Unlock()
	<-f.written
	return f.fail(f.db.Close())
}

// Load gives what was kept of a device; known reports whether anything was. What
// is still on its way does not count.
func (f *File) Load(a frame.Address) (m device.Memory, known bool, err error) {
	var record []byte
	err = f.db.View(func(tx *bbolt.Tx) error {
		record = bytes.Clone(tx.Bucket(devicesBucket).Get(key(a)))
		return nil
	})
	if err != nil || record == nil {
		return device.Memory{}, false, f.fail(err)
	}
	if m, err = decode(record); err != nil {
		return device.Memory{}, true, f.fail(fmt.Errorf("device %v: %w", a, err))
	}
	return m, true, nil
}

// An Entry is a device that is kept in the file.
type Entry struct {
	Address frame.Address
	Tag     string // that it had when it was kept; empty if the record cannot be read
}

// Devices lists what is kept, by address. After Close there is nothing.
func (f *File) Devices() (list []Entry) {
	f.db.View(func(tx *bbolt.Tx) error {
		return tx.Bucket(devicesBucket).ForEach(func(k, record []byte) error {
			e := Entry{}
			e.Address, _ = frame.ParseUnique(string(k)) // Open has tried it
			if m, err := decode(record); err == nil {
				e.Tag = m.KnownAs
			}
			list = append(list, e)
			return nil
		})
	})
	return list
}

// key is where the record of a device stands.
func key(a frame.Address) []byte {
	k, _ := a.AppendText(nil)
	return k
}

// decode reads a record. A field that this version does not know would be lost
// with the next write.
func decode(record []byte) (m device.Memory, err error) {
	d := json.NewDecoder(bytes.NewReader(record))
	d.DisallowUnknownFields()
	if err := d.Decode(&m); err != nil {
		return device.Memory{}, fmt.Errorf("%w, or its record is damaged: %w", ErrNewer, err)
	}
	return m, nil
}

// fail names the file in an error of its database.
func (f *File) fail(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, berrors.ErrDatabaseNotOpen):
		err = ErrClosed
	}
	return &Error{f.path, cause(err)}
}
