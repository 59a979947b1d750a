package exchange_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"looptone/frame"
)

// The bits of the device status, with when they came and went.
func TestStatusBits(t *testing.T) {
	const cold, fixed = frame.ColdStart, frame.LoopCurrentFixed
	for _, tt := range []struct {
		name   string
		status []frame.DeviceStatus // of the replies 1, 2, …, heard in second 1, 2, …
		want   []string
	}{
		{"none", []frame.DeviceStatus{0, 0}, nil},
		{"all the time", []frame.DeviceStatus{fixed, fixed, fixed}, []string{"08: 3 frames, came 1, first 1, last 3, went 0, true"}},
		{"came", []frame.DeviceStatus{0, 0, fixed}, []string{"08: 1 frames, came 1, first 3, last 3, went 0, true"}},
		{"went", []frame.DeviceStatus{fixed, fixed, 0, 0}, []string{"08: 2 frames, came 1, first 1, last 2, went 3, false"}},
		{"came again", []frame.DeviceStatus{fixed, 0, fixed, fixed, 0}, []string{"08: 3 frames, came 2, first 1, last 4, went 5, false"}},
		{"is there again", []frame.DeviceStatus{fixed, 0, fixed}, []string{"08: 2 frames, came 2, first 1, last 3, went 2, true"}},
		{"two", []frame.DeviceStatus{cold | fixed, fixed, 0}, []string{
			"20: 1 frames, came 1, first 1, last 1, went 2, false", "08: 2 frames, came 1, first 1, last 2, went 3, false"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var all []heard
			for i, s := range tt.status {
				f := reply(frame.Polling(3), 1, "")
				f.Status.Device = s
				second := time.Duration(i+1) * time.Second
				all = append(all, heard{frame: f, at: at(second, second)})
			}
			devices, _ := counted(t, all).Devices()
			var got []string
			for _, b := range devices[0].Status {
				if b.First.Span.Begin != time.Duration(b.First.Number)*time.Second || b.Went.Span.Begin != time.Duration(b.Went.Number)*time.Second {
					t.Errorf("times %v, %v of messages %d, %d", b.First.Span, b.Went.Span, b.First.Number, b.Went.Number)
				}
				got = append(got, fmt.Sprintf("%02x: %d frames, came %d, first %d, last %d, went %d, %v",
					uint8(b.Bit), b.Frames, b.Came, b.First.Number, b.Last.Number, b.Went.Number, b.Set))
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}

// A device tells each master once that it has started, or was changed by the other one.
//
// Source: from memory.
func TestStatusBitsOfEachMaster(t *testing.T) {
	const cold, fixed = frame.ColdStart, frame.LoopCurrentFixed
	type told struct {
		primary bool
		status  frame.DeviceStatus
	}
	for _, tt := range []struct {
		name string
		told []told
		want string
	}{
		{"one start", []told{{true, cold}, {false, cold}, {true, 0}, {false, cold}, {true, 0}, {false, 0}}, "3 frames, came 1, first 1, last 4, went 6, false"},
		{"two starts", []told{{true, cold}, {true, 0}, {false, cold}, {true, cold}, {false, 0}, {true, 0}}, "3 frames, came 2, first 1, last 4, went 6, false"},
		{"one of all", []told{{true, fixed}, {false, 0}, {true, fixed}, {false, fixed}}, "3 frames, came 2, first 1, last 4, went 2, true"},
	} {
		var all []frame.Frame
		for _, x := range tt.told {
			f := reply(frame.Polling(3), 1, "")
			f.Primary, f.Status.Device = x.primary, x.status
			all = append(all, f)
		}
		devices, _ := counted(t, untimedFrames(all)).Devices()
		b := devices[0].Status[0]
		if got := fmt.Sprintf("%d frames, came %d, first %d, last %d, went %d, %v", b.Frames, b.Came, b.First.Number, b.Last.Number, b.Went.Number, b.Set); got != tt.want {
			t.Errorf("%s: got %s, want %s", tt.name, got, tt.want)
		}
	}
}

// Behind communication errors the second byte is 0 and no status.
//
// Source: Spectrum Controls 1756sc manual p.153.
func TestStatusBitsBehindErrors(t *testing.T) {
	set, errs := reply(frame.Polling(3), 1, ""), garbled(reply(frame.Polling(3), 1, ""))
	set.Status.Device = frame.ColdStart
	devices, _ := counted(t, untimedFrames([]frame.Frame{set, errs, set})).Devices()
	if b := devices[0].Status; len(b) != 1 || b[0].Came != 1 || b[0].Went.Number != 0 || b[0].Frames != 2 {
		t.Errorf("%+v, want cold start, once, never gone", b)
	}
}
