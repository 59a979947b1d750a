package master

import (
	"cmp"
	"maps"
	"slices"

	"looptone/frame"
	"looptone/sim"
)

// A Watch scans the same polling addresses again and again, and tells who comes, goes
// and changes. Its Run is a script.
//
// A device that a scan has missed is asked by its unique address, as one reply may be
// lost, and a polling address may have changed behind the scan: it has gone when it does
// not answer to that either, or is not found in the next scan. At an address that
// cannot be read, all who were there may be there still.
type Watch struct {
	From, To uint8
	Retries  int            // as those of a [Scan]
	Every    sim.Tick       // a scan begins at each multiple of it, if it can; 0: behind the one before
	Found    func(Found)    // is told what the first scan finds
	Complete func()         // is told that the first scan has ended
	Changed  func(Sighting) // is told what is different later

	watching bool // the first scan has ended
	there    map[frame.Address]*present
	garbled  map[uint8]*present // what cannot be read, by polling address
	now      sim.Tick           // end of the last transaction
}

// A Change is what is different from one scan to the next.
type Change uint8

const (
	Came    Change = iota + 1
	Went           // it does not answer any more
	Changed        // it has another polling address or tag
)

var changes = [...]string{Came: "came", Went: "went", Changed: "changed"}

func (c Change) String() string { return changes[c] }

// A Sighting is something that has changed at a polling address.
type Sighting struct {
	Change Change
	At     sim.Tick
	Found  *Found // as it is now; of what went, as it was last
	Was    *Found // before it changed; nil for what came or went
}

// present is what was there in the last scan.
type present struct {
	Found
	seen   bool // in this scan too
	missed int  // scans in which it answered by its unique address only
}

// Run is the script.
func (w *Watch) Run(yield func(*Transaction) bool) {
	w.there, w.garbled = map[frame.Address]*present{}, map[uint8]*present{}
	say := func(t *Transaction) bool {
		more := yield(t)
		w.now = t.Ended
		return more
	}
	for due := sim.Tick(0); w.scan(due, say); {
		if !w.watching {
			w.watching = true
			w.Complete()
		}
		if w.Every > 0 {
			due = (max(w.now, due)/w.Every + 1) * w.Every
		}
	}
}

// scan scans once, and looks again for those who are missing.
func (w *Watch) scan(due sim.Tick, say conversation) (more bool) {
	for _, p := range w.all() {
		p.seen = false
	}
	more = true
	scan := Scan{From: w.From, To: w.To, Retries: w.Retries, Found: w.found}
	scan.Run(func(t *Transaction) bool {
		t.Earliest, due = due, 0
		more = say(t)
		return more
	})
	return more && w.searchMissing(say)
}

// all are those who were there, in the order of their polling addresses.
func (w *Watch) all() []*present {
	list := slices.AppendSeq(slices.Collect(maps.Values(w.there)), maps.Values(w.garbled))
	slices.SortFunc(list, func(a, b *present) int {
		return cmp.Or(cmp.Compare(a.Polling, b.Polling), cmp.Compare(a.Unique.String(), b.Unique.String()))
	})
	return list
}

// found is told of what is at a polling address.
func (w *Watch) found(f Found) {
	if !w.watching {
		w.Found(f)
	}
	if f.Unreadable {
		if before := w.garbled[f.Polling]; before != nil {
			before.seen = true
			return
		}
		w.garbled[f.Polling] = &present{Found: f, seen: true}
		w.tell(Came, &f, nil)
		return
	}
	before := w.there[f.Unique]
	w.there[f.Unique] = &present{Found: f, seen: true}
	if before == nil {
		w.tell(Came, &f, nil)
		return
	}
	now := &w.there[f.Unique].Found
	if now.keepTags(&before.Found); !now.same(&before.Found) {
		w.tell(Changed, now, &before.Found)
	}
}

// keepTags takes over the tags that a device did not tell this time.
func (f *Found) keepTags(before *Found) {
	f.Tag = cmp.Or(f.Tag, before.Tag)
	f.LongTag = cmp.Or(f.LongTag, before.LongTag)
}

// same reports whether neither the polling address nor a tag has changed.
func (f *Found) same(before *Found) bool {
	return f.Polling == before.Polling && sameText(f.Tag, before.Tag) && sameText(f.LongTag, before.LongTag)
}

// sameText takes an empty text for none.
func sameText(a, b *string) bool {
	var none string
	return *cmp.Or(a, &none) == *cmp.Or(b, &none)
}

// searchMissing asks those who did not answer by their unique addresses, as often as
// others are asked again.
func (w *Watch) searchMissing(say conversation) (more bool) {
	for _, p := range w.all() {
		switch {
		case p.seen:
			continue
		case p.Unreadable:
			delete(w.garbled, p.Polling)
			w.tell(Went, &p.Found, nil)
			continue
		case w.garbled[p.Polling] != nil && w.garbled[p.Polling].seen:
			continue
		}
		find := Find{Address: p.Unique, Retries: w.Retries}
		if !find.Run(say) {
			return false
		}
		if p.missed++; find.Device == nil || p.missed > 1 {
			delete(w.there, p.Unique)
			w.tell(Went, &p.Found, nil)
		}
	}
	return true
}

// tell tells what has changed since the first scan.
func (w *Watch) tell(c Change, f, was *Found) {
	if w.watching {
		w.Changed(Sighting{Change: c, At: w.now, Found: f, Was: was})
	}
}
