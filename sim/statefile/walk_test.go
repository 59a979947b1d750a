package statefile

import (
	"math/rand"
	"os"
	"testing"

	"go.etcd.io/bbolt"
)

// TestWholeFilesAreInOrder: whatever bbolt writes for records that come, grow,
// shrink and go passes, trees of several levels, records of several pages and a
// long free list included.
func TestWholeFilesAreInOrder(t *testing.T) {
	path := newPath(t)
	f := mustOpen(t, path)
	f.db.NoSync = true
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := rand.New(rand.NewSource(1))
	deepest := 0
	for round := range 120 {
		devices := []int{20, 2000, 50}[round/40]
		b := newBatch()
		for range 1 + r.Intn(devices) {
			b.records[number(r.Intn(devices))] = randomRecord(r)
		}
		if err := f.db.Update(b.write); err != nil {
			t.Fatal(err)
		}
		if err := checkPages(file, f.db.Info().PageSize); err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
		err := f.db.View(func(tx *bbolt.Tx) error {
			deepest = max(deepest, tx.Bucket(devicesBucket).Stats().Depth)
			return checkContents(tx)
		})
		if err != nil {
			t.Fatalf("round %d: %v", round, err)
		}
	}
	if deepest < 3 {
		t.Errorf("the deepest tree had %d levels", deepest)
	}
}

// randomRecord is one of some size, seldom of several pages, or none.
func randomRecord(r *rand.Rand) []byte {
	switch r.Intn(20) {
	case 0:
		return make([]byte, r.Intn(20_000))
	case 1, 2, 3, 4, 5:
		return nil
	}
	return make([]byte, r.Intn(700))
}
