package statefile

import (
	"encoding/json"
	"fmt"

	"looptone/frame"
	"looptone/sim/device"

	"go.etcd.io/bbolt"
)

// A batch is what one transaction writes. It is the [device.Saving] of all that
// is in it: of a device only the newest counts, and that is at least as new as
// what each of them saved.
type batch struct {
	records map[frame.Address][]byte // nil: forget the device
	done    chan struct{}            // closed when it is on disk, or failed
	err     error                    // set before done is closed
}

func newBatch() *batch {
	return &batch{records: map[frame.Address][]byte{}, done: make(chan struct{})}
}

// Done is done when the batch has survived any loss of power from now on, or
// with the error that kept it from being written. The next one is tried anew.
func (b *batch) Done() (done bool, err error) {
	select {
	case <-b.done:
		return true, b.err
	default:
		return false, nil
	}
}

func (b *batch) finish(err error) {
	b.err = err
	close(b.done)
}

// Save begins to write m down in place of what was kept of the device and returns
// at once; see [device.Store].
func (f *File) Save(a frame.Address, m device.Memory) device.Saving { return f.save(a, m) }

func (f *File) save(a frame.Address, m device.Memory) *batch {
	if _, polling := a.IsPolling(); polling {
		return f.failed(fmt.Errorf("device %v: got a polling address, want a unique one", a))
	}
	record, err := json.Marshal(m)
	if err != nil {
		return f.failed(fmt.Errorf("device %v: %w", a, err))
	}
	return f.put(a, record)
}

// Waiting is the store whose Save returns only when it is done: so line time
// stands still while the disk is at work.
func (f *File) Waiting() device.Store { return waiting{f} }

type waiting struct{ file *File }

func (w waiting) Save(a frame.Address, m device.Memory) device.Saving {
	b := w.file.save(a, m)
	<-b.done
	return b
}

// Forget removes what was kept of a device and returns when that is done;
// [ErrUnknown] if there was nothing.
func (f *File) Forget(a frame.Address) error {
	var known bool
	err := f.db.View(func(tx *bbolt.Tx) error {
		known = tx.Bucket(devicesBucket).Get(key(a)) != nil
		return nil
	})
	if err == nil && !known {
		err = fmt.Errorf("device %v: %w", a, ErrUnknown)
	}
	if err != nil {
		return f.fail(err)
	}
	b := f.put(a, nil)
	<-b.done
	return b.err
}

func (f *File) failed(err error) *batch {
	b := newBatch()
	b.finish(f.fail(err))
	return b
}

// put adds a record to what is written next.
func (f *File) put(a frame.Address, record []byte) *batch {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.closed {
		return f.failed(ErrClosed)
	}
	if f.next == nil {
		f.next = newBatch()
		f.wake <- struct{}{}
	}
	f.next.records[a] = record
	return f.next
}

// write is the goroutine that writes; what is saved meanwhile goes together next.
func (f *File) write() {
	defer close(f.written)
	for range f.wake {
		f.mu.Lock()
		b := f.next
		f.next = nil
		f.mu.Unlock()
		b.finish(f.fail(f.db.Update(b.write)))
	}
}

// write is one transaction: the records, and the digest of all of them.
func (b *batch) write(tx *bbolt.Tx) error {
	devices := tx.Bucket(devicesBucket)
	for a, record := range b.records {
		if err := set(devices, key(a), record); err != nil {
			return fmt.Errorf("device %v: %w", a, err)
		}
	}
	return seal(tx)
}

func set(devices *bbolt.Bucket, key, record []byte) error {
	if record == nil {
		return devices.Delete(key)
	}
	return devices.Put(key, record)
}
