package statefile

import (
	"encoding/binary"
	"errors"
	"hash/fnv"
	"io"
)

// The layout of a bbolt file, version 2. Numbers are in the byte order of the
// machine, places of an element count from its own start.
//
//	page      id 8 · flags 2 · count 2 · overflow 4 · elements or meta
//	meta      magic 4 · version 4 · page size 4 · flags 4 · root bucket 16 ·
//	          free list 8 · pages in use 8 · transaction 8 · FNV-1a of these 8
//	branch    place 4 · size of key 4 · id of page 8
//	leaf      flags 4 · place 4 · size of key 4 · size of value 4
//	bucket    id of its root page 8, or 0: the page follows · sequence 8
//	free list ids of 8; when the count is ffff the first is the count
//
// Pages 0 and 1 hold a meta each; the valid one with the higher transaction
// counts. Overflow is the number of pages that belong to this one behind it.
//
// Source: go.etcd.io/bbolt v1.5.0, internal/common (page.go, meta.go, bucket.go).
const (
	pageHead    = 16
	metaSize    = 64
	elementSize = 16
	bucketHead  = 16

	branchPage = 0x01
	leafPage   = 0x02
	freePage   = 0x10

	bucketElement = 0x01
)

var order = binary.NativeEndian

// A page is the bytes of a page with those that belong to it.
type page []byte

func (p page) id() uint64       { return order.Uint64(p) }
func (p page) flags() uint16    { return order.Uint16(p[8:]) }
func (p page) count() int       { return int(order.Uint16(p[10:])) }
func (p page) overflow() uint32 { return order.Uint32(p[12:]) }

// An element is a key with what it stands for: a page of a branch, the value of a
// leaf, which may be a bucket.
type element struct {
	key, value []byte
	child      uint64
	flags      uint32
}

var errOutside = errors.New("an element reaches over the end")

// element reads the one with number i, which is less than the count.
func (p page) element(i int) (e element, err error) {
	start := pageHead + i*elementSize
	if start+elementSize > len(p) {
		return e, errOutside
	}
	at := p[start:]
	var place, keySize, valueSize uint64
	if p.flags() == branchPage {
		place, keySize, e.child = uint64(order.Uint32(at)), uint64(order.Uint32(at[4:])), order.Uint64(at[8:])
	} else {
		e.flags, place = order.Uint32(at), uint64(order.Uint32(at[4:]))
		keySize, valueSize = uint64(order.Uint32(at[8:])), uint64(order.Uint32(at[12:]))
	}
	if place+keySize+valueSize > uint64(len(at)) {
		return e, errOutside
	}
	e.key, e.value = at[place:place+keySize], at[place+keySize:place+keySize+valueSize]
	return e, nil
}

// A meta is where everything begins.
type meta struct{ root, free, end, transaction uint64 }

// readMeta gives the meta that counts; bbolt has seen to it that one is valid.
func readMeta(file io.ReaderAt, pageSize int) (best meta, err error) {
	for i := range 2 {
		p := make(page, pageHead+metaSize)
		if _, err := file.ReadAt(p, int64(i)*int64(pageSize)); err != nil {
			return meta{}, err
		}
		m := p[pageHead:]
		sum := fnv.New64a()
		sum.Write(m[:metaSize-8])
		got := meta{order.Uint64(m[16:]), order.Uint64(m[32:]), order.Uint64(m[40:]), order.Uint64(m[48:])}
		if sum.Sum64() == order.Uint64(m[metaSize-8:]) && got.transaction >= best.transaction {
			best = got
		}
	}
	return best, nil
}

// elements reads all of them.
func (p page) elements() (all []element, err error) {
	for i := range p.count() {
		e, err := p.element(i)
		if err != nil {
			return nil, err
		}
		all = append(all, e)
	}
	return all, nil
}
