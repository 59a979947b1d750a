package statefile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
)

// checkPages follows every page from the root: each is where it says that it is,
// is used exactly once or free, has its elements inside, and stands in the branch
// above under its first key. So whoever trusts the pages reads nothing outside the
// file, runs in no circle and writes nothing over a page in use. That the keys are
// the right ones, in the right order, is for the digest to tell.
func checkPages(file *os.File, pageSize int) error {
	info, err := file.Stat()
	if err != nil {
		return err
	}
	m, err := readMeta(file, pageSize)
	if err != nil {
		return err
	}
	if m.end > uint64(info.Size())/uint64(pageSize) {
		return fmt.Errorf("%w: it has %d bytes, want %d pages of %d", ErrDamaged, info.Size(), m.end, pageSize)
	}
	w := &walk{file: file, pageSize: pageSize, used: make([]bool, m.end)}
	return w.run(m)
}

// A walk goes through the pages of a file.
type walk struct {
	file     io.ReaderAt
	pageSize int
	used     []bool // by id
}

func (w *walk) run(m meta) error {
	if err := w.tree(m.root, nil); err != nil {
		return err
	}
	if err := w.freeList(m.free); err != nil {
		return err
	}
	for id := range w.used {
		if id >= 2 && !w.used[id] {
			return damagedPage(uint64(id), errors.New("neither used nor free"))
		}
	}
	return nil
}

// use marks a page, which must not be in use.
func (w *walk) use(id uint64) error {
	switch {
	case id < 2 || id >= uint64(len(w.used)):
		return damagedPage(id, fmt.Errorf("not one of pages 2 to %d", len(w.used)-1))
	case w.used[id]:
		return damagedPage(id, errors.New("used twice"))
	}
	w.used[id] = true
	return nil
}

// read gives a page that was not read before.
func (w *walk) read(id uint64) (page, error) {
	if err := w.use(id); err != nil {
		return nil, err
	}
	p := make(page, w.pageSize)
	if err := w.fill(p, id); err != nil {
		return nil, err
	}
	if p.id() != id {
		return nil, damagedPage(id, fmt.Errorf("it says that it is page %d", p.id()))
	}
	last := id + uint64(p.overflow())
	for next := id + 1; next <= last; next++ {
		if err := w.use(next); err != nil {
			return nil, err
		}
	}
	p = append(p, make([]byte, int(p.overflow())*w.pageSize)...)
	return p, w.fill(p, id)
}

func (w *walk) fill(p page, id uint64) error {
	_, err := w.file.ReadAt(p, int64(id)*int64(w.pageSize))
	return err
}

// tree follows a page. By its first key the branch above finds it again when it
// is written; nil: there is none above.
func (w *walk) tree(id uint64, first []byte) error {
	p, err := w.read(id)
	if err != nil {
		return err
	}
	return w.elements(id, p, first)
}

func (w *walk) elements(id uint64, p page, first []byte) error {
	if p.flags() != branchPage && p.flags() != leafPage {
		return damagedPage(id, fmt.Errorf("got flags %04x, want those of a branch or a leaf", p.flags()))
	}
	all, err := p.elements()
	if err != nil {
		return damagedPage(id, err)
	}
	if first != nil && (len(all) == 0 || !bytes.Equal(all[0].key, first)) {
		return damagedPage(id, errors.New("its first key is not that of the branch above"))
	}
	for _, e := range all {
		switch {
		case p.flags() == branchPage:
			err = w.tree(e.child, e.key)
		case e.flags&bucketElement != 0:
			err = w.bucket(id, e.value)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// bucket follows one that stands in page id.
func (w *walk) bucket(id uint64, value []byte) error {
	if len(value) < bucketHead {
		return damagedPage(id, errOutside)
	}
	if root := order.Uint64(value); root != 0 {
		return w.tree(root, nil)
	}
	inside := page(value[bucketHead:])
	if len(inside) < pageHead {
		return damagedPage(id, errors.New("a bucket in it has no page"))
	}
	return w.elements(id, inside, nil)
}

// freeList marks the pages that are free.
func (w *walk) freeList(id uint64) error {
	p, err := w.read(id)
	if err != nil {
		return err
	}
	ids, count := p[pageHead:], uint64(p.count())
	if count == 0xffff {
		count, ids = order.Uint64(ids), ids[8:]
	}
	if p.flags() != freePage || count > uint64(len(ids)/8) {
		return damagedPage(id, fmt.Errorf("flags %04x and count %d, want a list of free pages", p.flags(), count))
	}
	for i := range count {
		if err := w.use(order.Uint64(ids[i*8:])); err != nil {
			return err
		}
	}
	return nil
}

func damagedPage(id uint64, err error) error {
	return fmt.Errorf("%w: page %d: %w", ErrDamaged, id, err)
}
