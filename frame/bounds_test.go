package frame_test

import (
	"bytes"
	"runtime"
	"testing"
	"time"

	"looptone/frame"
)

// hostile are pieces that, repeated for ever, ask most of a decoder.
var hostile = map[string][]byte{
	"idle":                {0xff, 0xff, 0xff, 0xff},
	"noise":               {0x55, 0xaa, 0x00, 0x7f},
	"single FF":           {0xff, 0x00, 0x00, 0x00},
	"longest false start": {0xff, 0xff, 0x02, 0x80, 0x01, 0xff},
	"false start a pair":  {0xff, 0xff, 0x02},
	"unknown type":        {0xff, 0xff, 0x00},
	"count of a reply":    {0xff, 0xff, 0x06, 0x80, 0x01, 0x00},
}

// feedHostile feeds size characters in pieces of a kilobyte; with places, every
// tenth piece begins with a new line.
func feedHostile(d *frame.Decoder, piece []byte, size int, places bool) (events int) {
	chunk := bytes.Repeat(piece, 1024/len(piece))
	var ev frame.Event
	for fed := 0; fed < size; fed += len(chunk) {
		var marks []frame.MarkAt
		if places && fed/len(chunk)%10 == 0 {
			marks = []frame.MarkAt{{Pos: d.Pos(), Mark: frame.Line}}
		}
		d.Feed(chunk, marks)
		for d.Next(&ev) {
			events++
		}
	}
	return events
}

// A decoder holds two largest frames and what was fed last, however much passes.
func TestDecoderStaysSmall(t *testing.T) {
	for name, piece := range hostile {
		d := frame.Decoder{Bare: true}
		feedHostile(&d, piece, 64<<10, true)
		before := heap()
		feedHostile(&d, piece, 1<<20, true)
		if grown := heap() - before; grown > 16<<10 {
			t.Errorf("%s: %d bytes more after a megabyte", name, grown)
		}
		runtime.KeepAlive(&d)
	}
}

func heap() int64 {
	var stats runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&stats)
	return int64(stats.HeapAlloc)
}

// False starts inside false starts make every character a part of many claims.
// The slowest of these streams was measured at 39 million characters a second;
// a decoder whose work grows with the square of its input stays far below the
// limit.
func TestTimingHostileStreams(t *testing.T) {
	const size, atLeast = 1 << 20, 2_000_000
	for name, piece := range hostile {
		var d frame.Decoder
		began := time.Now()
		feedHostile(&d, piece, size, false)
		rate := size / time.Since(began).Seconds()
		t.Logf("%s: %.1f million characters a second", name, rate/1e6)
		if rate < atLeast {
			t.Errorf("%s: %.0f characters a second, want %d", name, rate, atLeast)
		}
	}
}

// Under the race detector append allocates what it otherwise does not, so the
// name keeps this test to the second pass of .ci/test.
func TestAllocationsOfGoodFrames(t *testing.T) {
	var stream []byte
	for _, v := range readVectors(t) {
		if expect, _ := v.Value("expect"); expect == "frame" && v.Marks == nil {
			stream = append(append(stream, 0xff, 0xff), v.Chars...)
		}
	}
	var d frame.Decoder
	var ev frame.Event
	frames := 0
	allocations := testing.AllocsPerRun(50, func() {
		d.Feed(stream, nil)
		for d.Next(&ev) {
			if ev.Outcome == frame.Whole {
				frames++
			}
		}
	})
	if frames < 50*40 {
		t.Errorf("only %d frames in 51 runs", frames)
	}
	if allocations != 0 {
		t.Errorf("%v allocations a run, want 0", allocations)
	}
}
