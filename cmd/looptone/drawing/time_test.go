package drawing

import (
	"fmt"
	"testing"
)

// Marks of an axis stand where clocks have them: at quarters of minutes and hours, at
// halves of days.
func TestTimeStep(t *testing.T) {
	for _, c := range []struct{ least, want float64 }{
		{0.03, 0.05}, {0.2, 0.2}, {9, 10}, {11, 15}, {16, 30}, {25, 30}, {31, 60}, {800, 900},
		{7000, 7200}, {21600, 21600}, {22000, 43200}, {50000, 86400}, {100000, 172800}, {500000, 864000},
	} {
		var got float64
		if node(t, fmt.Sprintf("answer(timeStep(%v));", c.least), &got); got != c.want {
			t.Errorf("at least %v s: got %v s, want %v s", c.least, got, c.want)
		}
	}
}
