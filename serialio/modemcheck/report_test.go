package modemcheck

import (
	"testing"
	"time"
)

// What a verdict got and what it wants say why a limit is broken: a reply that did not come
// is not one in 140 ms, which would be in time.
//
// Source: FieldComm Group support article 8000040648 (28 characters, 256.7 ms).
func TestAnswersAreJudgedByWhatIsBroken(t *testing.T) {
	const ms = time.Millisecond
	for _, tt := range []struct {
		answers   Answers
		finding   Finding
		got, want float64
		unit      string
	}{
		{Answers{Asked: 5, Begun: 5, Longest: 140 * ms}, Kept, 140, 256.67, "ms"},
		{Answers{Asked: 5, Begun: 3, Longest: 140 * ms}, Broken, 2, 0, "requests without a reply"},
		{Answers{Asked: 5, Begun: 5, Late: 1, Longest: 300 * ms}, Broken, 300, 256.67, "ms"},
		{Answers{Asked: 5, Begun: 4, Late: 1, Longest: 300 * ms}, Broken, 300, 256.67, "ms"},
	} {
		r := Report{Hookup: OnLine, Answers: tt.answers}
		v := r.judgeAnswers()
		if v.Finding != tt.finding || v.Got != tt.got || v.Bound != tt.want || v.Unit != tt.unit {
			t.Errorf("%+v: %v, got %v, want %v %s", tt.answers, v.Finding, v.Got, v.Bound, v.Unit)
		}
	}
}
