package page

import "sync"

// archiveLen is how many messages can be taken apart.
const archiveLen = 2000

// An archive keeps the latest messages taken apart. It is for any goroutine.
type archive struct {
	mu   sync.Mutex
	kept [archiveLen]Apart
}

func (a *archive) keep(n int64, boxes []Box) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.kept[n%archiveLen] = Apart{n, boxes}
}

// find gives message n taken apart; ok is false where it is not kept.
func (a *archive) find(n int64) (x Apart, ok bool) {
	if n <= 0 {
		return x, false
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	x = a.kept[n%archiveLen]
	return x, x.N == n
}
