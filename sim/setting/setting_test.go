package setting_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"looptone/sim/setting"
)

func TestRefusals(t *testing.T) {
	cause := errors.New("is empty")
	tests := []struct {
		err  error
		want string
	}{
		{setting.Refuse("polling", uint8(64), "0 to %d", 63), "polling: got 64, want 0 to 63"},
		{&setting.Error{Name: "tag", Err: cause}, "tag: is empty"},
		{setting.Number("range.lower", math.NaN()), "range.lower: got NaN, want a number that a 32-bit float holds"},
		{setting.Number("range.lower", -2*math.MaxFloat32), "range.lower: got -6.805646932770577e+38, want a number that a 32-bit float holds"},
		{setting.NotNegative("process.noise", -1), "process.noise: got -1, want 0 or more"},
		{setting.NotNegative("process.noise", math.Inf(1)), "process.noise: got +Inf, want a number that a 32-bit float holds"},
		{setting.Positive("controller.gain", 0), "controller.gain: got 0, want more than 0"},
		{setting.Within("process.discharge", 1.5, 0.1, 1), "process.discharge: got 1.5, want 0.1 to 1"},
		{setting.Within("process.discharge", math.NaN(), 0.1, 1), "process.discharge: got NaN, want 0.1 to 1"},
		{setting.Duration("process.length_s", -1500*time.Millisecond, 0), "process.length_s: got -1.5, want 0 or more"},
		{setting.Duration("latency_ms", 100*time.Microsecond, 4*time.Millisecond), "latency_ms: got 0.1, want 4 or more"},
		{setting.Duration("totaliser.save_every", time.Second, time.Minute), "totaliser.save_every: got 1s, want 1m0s or more"},
	}
	for _, tt := range tests {
		if tt.err == nil || tt.err.Error() != tt.want {
			t.Errorf("got  %v\nwant %s", tt.err, tt.want)
		}
	}
	if !errors.Is(tests[1].err, cause) {
		t.Error("the cause is lost")
	}
}

func TestLimitsAreAllowed(t *testing.T) {
	if err := setting.First(
		setting.Number("n", math.MaxFloat32), setting.NotNegative("n", 0), setting.Positive("n", math.SmallestNonzeroFloat64),
		setting.Within("n", 0.1, 0.1, 1), setting.Within("n", 1, 0.1, 1), setting.Duration("n_s", time.Second, time.Second)); err != nil {
		t.Error(err)
	}
}

func TestFirst(t *testing.T) {
	first, second := errors.New("first"), errors.New("second")
	if got := setting.First(nil, first, second); got != first {
		t.Errorf("got %v, want the first", got)
	}
}

// A time is answered in the unit that the setting has.
func TestTime(t *testing.T) {
	for _, tt := range []struct {
		name string
		d    time.Duration
		want string
	}{
		{"process.period_s", 100 * time.Millisecond, "0.1"},
		{"process.period_s", 300 * time.Second, "300"},
		{"process.start_s", -5 * time.Second, "-5"},
		{"latency_ms", 256666666, "256.666666"},
		{"latency_ms", 1e6 * time.Second, "1e+09"},
		{"save_every", 90 * time.Second, "1m30s"},
		{"items", time.Second, "1s"}, // it only ends in the letters
	} {
		if got := setting.Time(tt.name, tt.d); got != tt.want {
			t.Errorf("%s: got %s, want %s", tt.name, got, tt.want)
		}
	}
}
