package view_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/cmd/looptone/view"
	"looptone/sim/transmitter"
)

func TestAppendOutputs(t *testing.T) {
	got := view.AppendOutputs([]byte("before "), 3600*time.Second+10*time.Millisecond, `L"1`, []transmitter.Output{
		{Name: "process", Value: 0.1}, {Name: "sensor", Value: -5}, {Name: "damping", Value: math.NaN()},
		{Name: "range", Value: math.Inf(-1)}, {Name: "transfer", Value: 1e300}, {Name: "loop_current", Value: 4},
	}, false)
	const want = `before {"time":3600.01,"device":"L\"1","process":0.1,"sensor":-5,"damping":null,` +
		`"range":null,"transfer":1e+300,"loop_current":4}`
	if string(got) != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// The units are the last key.
func TestAppendOutputsWithUnits(t *testing.T) {
	got := view.AppendOutputs(nil, 0, "LT-1", []transmitter.Output{
		{Name: "process", Value: 1, Unit: 12}, {Name: "range", Value: 2.5, Unit: 57}, {Name: "loop_current", Value: 4, Unit: 39},
	}, true)
	const want = `{"time":0,"device":"LT-1","process":1,"range":2.5,"loop_current":4,` +
		`"units":{"process":"kPa","range":"%","loop_current":"mA"}}`
	if string(got) != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

// Every number reads back as itself, by the reader of the standard library.
func TestOutputsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tag, value := rapid.String().Draw(t, "tag"), rapid.Float64().Draw(t, "value")
		at := time.Duration(rapid.Int64Range(0, 1e15).Draw(t, "microseconds")) * time.Microsecond
		line := view.AppendOutputs(nil, at, tag, []transmitter.Output{{Name: "output", Value: value}}, false)
		var got struct {
			Time   json.Number
			Device string
			Output *float64
		}
		if err := json.Unmarshal(line, &got); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		if back, err := time.ParseDuration(got.Time.String() + "s"); err != nil || back != at {
			t.Errorf("%s: time is %v, want %v (%v)", line, back, at, err)
		}
		if got.Device != string([]rune(tag)) {
			t.Errorf("%s: device is %q, want %q", line, got.Device, tag)
		}
		if got.Output == nil || math.Float64bits(*got.Output) != math.Float64bits(value) {
			t.Errorf("%s: output is %v, want %v", line, got.Output, value)
		}
	})
}

// A line costs no memory once the buffer has its size.
func TestAllocationsOfOutputs(t *testing.T) {
	outputs := []transmitter.Output{{Name: "process", Value: math.Pi}, {Name: "sensor", Value: math.NaN()}}
	line := view.AppendOutputs(nil, time.Hour, "LT-103", outputs, false)
	if n := testing.AllocsPerRun(100, func() { line = view.AppendOutputs(line[:0], time.Hour, "LT-103", outputs, false) }); n != 0 {
		t.Errorf("%v allocations a line", n)
	}
}
