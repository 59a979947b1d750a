package view

import (
	"strconv"
	"testing"
)

// A memo that is full keeps what comes, and has what it gives.
func TestMemoOfTooMany(t *testing.T) {
	var m memo[int]
	for n := range 3 * mostTexts {
		m.put(n, n, strconv.Itoa(n))
		for _, key := range []int{n, n / 2, n - 1} {
			if text, ok := m.get(key, key); ok && text != strconv.Itoa(key) || key == n && !ok {
				t.Fatalf("after %d: got %q, %v of %d", n, text, ok, key)
			}
		}
		if len(m.all) > mostTexts {
			t.Fatalf("%d texts are kept, want at most %d", len(m.all), mostTexts)
		}
	}
}
