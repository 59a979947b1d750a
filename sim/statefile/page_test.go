package statefile

import (
	"bytes"
	"testing"
)

// A part is the pages of a state file by what they do.
type part struct{ root, branch, leaf, free page }

func partsOf(t *testing.T, file []byte) part {
	t.Helper()
	at := func(id uint64) page { return page(file[int(id)*testPage : int(id+1)*testPage]) }
	m, err := readMeta(bytes.NewReader(file), testPage)
	if err != nil {
		t.Fatal(err)
	}
	p := part{root: at(m.root), free: at(m.free)}
	devices, err := p.root.element(0)
	if err != nil || string(devices.key) != "devices" {
		t.Fatalf("the first bucket is %q, %v", devices.key, err)
	}
	p.branch = at(order.Uint64(devices.value))
	first, err := p.branch.element(0)
	if err != nil || p.branch.flags() != branchPage {
		t.Fatalf("flags %04x, want a branch, %v", p.branch.flags(), err)
	}
	p.leaf = at(first.child)
	return p
}

// headOf is where the head of an element begins in its page.
func headOf(p page, i int) []byte { return p[pageHead+i*elementSize:] }

// TestDamagedPlaces does what chance seldom does.
func TestDamagedPlaces(t *testing.T) {
	pristine, d := damage(t)
	for _, c := range []struct {
		name string
		do   func(part)
	}{
		{"two records made one", func(p part) {
			last := p.leaf.count() - 1
			e, _ := p.leaf.element(last)
			order.PutUint16(p.leaf[10:], uint16(last))
			before := headOf(p.leaf, last-1)
			order.PutUint32(before[12:], order.Uint32(before[12:])+uint32(len(e.key)+len(e.value)))
		}},
		{"a key cut by one byte", func(p part) {
			head := headOf(p.leaf, p.leaf.count()-1)
			order.PutUint32(head[8:], order.Uint32(head[8:])-1)
			order.PutUint32(head[12:], order.Uint32(head[12:])+1)
		}},
		{"no key", func(p part) { order.PutUint32(headOf(p.leaf, 0)[8:], 0) }},
		{"a record that is a bucket", func(p part) { order.PutUint32(headOf(p.leaf, 1), bucketElement) }},
		{"a bucket of 4 bytes", func(p part) { order.PutUint32(headOf(p.root, 1)[12:], 4) }},
		{"a bucket without a page", func(p part) { order.PutUint32(headOf(p.root, 1)[12:], bucketHead+4) }},
		{"a bucket that is no bucket", func(p part) { order.PutUint32(headOf(p.root, 0), 0) }},
		{"no records", func(p part) { order.PutUint16(p.leaf[10:], 0) }},
		{"two keys changed over", func(p part) {
			one, _ := p.leaf.element(1)
			two, _ := p.leaf.element(2)
			kept := string(one.key)
			copy(one.key, two.key)
			copy(two.key, kept)
		}},
		{"no branches", func(p part) { order.PutUint16(p.branch[10:], 0) }},
		{"a branch to itself", func(p part) { order.PutUint64(headOf(p.branch, 0)[8:], p.branch.id()) }},
		{"a branch out of the file", func(p part) { order.PutUint64(headOf(p.branch, 0)[8:], 1<<40) }},
		{"a branch under a lower key", func(p part) { e, _ := p.branch.element(0); e.key[0]-- }},
		{"a page over all others", func(p part) { order.PutUint32(p.leaf[12:], 1<<32-1) }},
		{"free pages without end", func(p part) { order.PutUint16(p.free[10:], 0xfffe) }},
		{"free pages beyond counting", func(p part) {
			order.PutUint16(p.free[10:], 0xffff)
			order.PutUint64(p.free[pageHead:], 1<<63)
		}},
		{"a free first page", func(p part) {
			n := p.free.count()
			order.PutUint16(p.free[10:], uint16(n+1))
			order.PutUint64(p.free[pageHead+8*n:], 1)
		}},
		{"one free page less", func(p part) { order.PutUint16(p.free[10:], uint16(p.free.count()-1)) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			file := bytes.Clone(pristine)
			c.do(partsOf(t, file))
			before := d.refused
			d.try(t, c.name, file)
			if d.refused == before {
				t.Error("it was not refused")
			}
		})
	}
}

// TestLongFreeList: the other way to write the count, for which a file would have
// to be large, is read too.
func TestLongFreeList(t *testing.T) {
	pristine, d := damage(t)
	free := partsOf(t, pristine).free
	count := free.count()
	copy(free[pageHead+8:], bytes.Clone(free[pageHead:pageHead+8*count]))
	order.PutUint64(free[pageHead:], uint64(count))
	order.PutUint16(free[10:], 0xffff)
	before := d.newest
	d.try(t, "long free list", pristine)
	if d.newest == before {
		t.Error("it was refused")
	}
}

// TestFullFreeList: a list that fills its page, and one that says it is longer.
func TestFullFreeList(t *testing.T) {
	const pageSize, free = 4096, (4096 - pageHead) / 8
	file := make([]byte, 3*pageSize)
	list := page(file[2*pageSize:])
	order.PutUint64(list, 2)
	order.PutUint16(list[8:], freePage)
	for i := range free {
		order.PutUint64(list[pageHead+8*i:], uint64(3+i))
	}
	for count, whole := range map[uint16]bool{free: true, free + 1: false} {
		order.PutUint16(list[10:], count)
		w := &walk{file: bytes.NewReader(file), pageSize: pageSize, used: make([]bool, 3+free)}
		if err := w.freeList(2); (err == nil) != whole {
			t.Errorf("%d of at most %d: %v", count, free, err)
		}
	}
}
