package statefile

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"strconv"

	"looptone/frame"

	"go.etcd.io/bbolt"
)

// format is the version of what is in the file. A record with more fields needs
// no new one: a version that does not know them says so.
const format = 1

var (
	headBucket    = []byte("looptone")
	devicesBucket = []byte("devices")
	formatKey     = []byte("format")
	digestKey     = []byte("digest")
)

// fill makes an empty file a state file without devices.
func fill(path string) error {
	db, err := bbolt.Open(path, 0, nil)
	if err != nil {
		return err
	}
	return errors.Join(db.Update(begin), db.Close())
}

func begin(tx *bbolt.Tx) error {
	head, err := tx.CreateBucket(headBucket)
	if err != nil {
		return err
	}
	if err := head.Put(formatKey, strconv.AppendInt(nil, format, 10)); err != nil {
		return err
	}
	if _, err := tx.CreateBucket(devicesBucket); err != nil {
		return err
	}
	return seal(tx)
}

// seal writes the digest of what is in the transaction.
func seal(tx *bbolt.Tx) error {
	return tx.Bucket(headBucket).Put(digestKey, digest(tx.Bucket(devicesBucket)))
}

// digest is the SHA-256 of all records in order of their keys: the lengths of key
// and record as 32-bit numbers, most significant byte first, then both.
func digest(devices *bbolt.Bucket) []byte {
	h := sha256.New()
	var lengths [8]byte
	devices.ForEach(func(k, record []byte) error {
		binary.BigEndian.PutUint32(lengths[:4], uint32(len(k)))
		binary.BigEndian.PutUint32(lengths[4:], uint32(len(record)))
		h.Write(lengths[:])
		h.Write(k)
		h.Write(record)
		return nil
	})
	return h.Sum(nil)
}

// checkContents refuses a bbolt file that is not ours, not of this format, or has
// other records than were written.
func checkContents(tx *bbolt.Tx) error {
	head, devices := tx.Bucket(headBucket), tx.Bucket(devicesBucket)
	if head == nil {
		return fmt.Errorf("%w: another program keeps its data in it", ErrForeign)
	}
	version, err := strconv.Atoi(string(head.Get(formatKey)))
	switch {
	case err != nil || version < 1:
		return fmt.Errorf("%w: its format is %q", ErrDamaged, head.Get(formatKey))
	case version > format:
		return fmt.Errorf("%w: its format is %d, this version knows %d", ErrNewer, version, format)
	case devices == nil || !bytes.Equal(digest(devices), head.Get(digestKey)):
		return fmt.Errorf("%w: the records are not those that were written", ErrDamaged)
	}
	return devices.ForEach(func(k, _ []byte) error {
		if _, err := frame.ParseUnique(string(k)); err != nil {
			return fmt.Errorf("%w: %w", ErrDamaged, err)
		}
		return nil
	})
}
