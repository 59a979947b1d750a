package exchange_test

import (
	"encoding/binary"
	"math"
	"testing"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

// polled is a master that asks 15 devices by their unique addresses for commands
// 1, 2 and 3, in rounds, behind the introduction of each: as characters.
func polled(rounds int) (stream []byte) {
	say := func(f frame.Frame) {
		stream = frame.AppendPreambles(stream, 5)
		stream, _ = f.AppendBinary(stream)
	}
	for n := range 15 {
		data := unhex(identity5)
		data[11] = byte(n)
		f := reply(frame.Polling(uint8(n+1)), 0, "")
		f.Data = data
		say(request(f.Address, 0, ""))
		say(f)
	}
	for round := range rounds {
		for n := range uint32(15) {
			unique := frame.Unique(0x3901, n)
			pv := math.Float32bits(20 + float32(math.Sin(float64(round))))
			three := unhex("41 00 00 00 0c 41 c8 00 00 20 42 28 00 00")
			binary.BigEndian.PutUint32(three[5:], pv)
			say(request(unique, 1, ""))
			say(parked(reply(unique, 1, "0c 41 c8 00 00")))
			say(request(unique, 2, ""))
			say(parked(reply(unique, 2, "41 40 00 00 42 48 00 00")))
			f := reply(unique, 3, "")
			f.Data = three
			say(request(unique, 3, ""))
			say(parked(f))
		}
	}
	return stream
}

// parked is a frame of a device whose loop current does not move, as on a line
// of many.
func parked(f frame.Frame) frame.Frame {
	f.Status.Device = frame.LoopCurrentFixed
	return f
}

// along takes a stream through decoder and tracker, in the pieces and with the
// times of a capture.
func along(stream []byte, tracker *exchange.Tracker, use func(*exchange.Message)) {
	var d frame.Decoder
	var ev frame.Event
	var m exchange.Message
	for len(stream) > 0 {
		n := min(64<<10, len(stream))
		d.Feed(stream[:n], nil)
		stream = stream[n:]
		for d.Next(&ev) {
			for tracker.Follow(0, &ev, spanOf(&ev)); tracker.Next(&m); {
				use(&m)
			}
		}
	}
}

// spanOf is when an event was on a line that is never silent.
func spanOf(ev *frame.Event) exchange.Span {
	at := func(pos int64) time.Duration { return time.Duration(pos) * 11 * time.Second / 1200 }
	return exchange.Span{Known: true, Begin: at(ev.Start - int64(ev.Preambles)), Start: at(ev.Start), End: at(ev.End)}
}

// BenchmarkFollow follows and reads values, BenchmarkStatistics follows and
// counts. Both include the decoder.
func BenchmarkFollow(b *testing.B) {
	benchmark(b, false, func(*exchange.Message) {})
}

func BenchmarkStatistics(b *testing.B) {
	var s exchange.Statistics
	benchmark(b, true, s.Add)
}

func benchmark(b *testing.B, unread bool, use func(*exchange.Message)) {
	stream := polled(400)
	b.SetBytes(int64(len(stream)))
	b.ReportAllocs()
	for b.Loop() {
		tracker := exchange.Tracker{Unread: unread}
		messages := 0
		along(stream, &tracker, func(m *exchange.Message) { messages++; use(m) })
		if want := 30 + 400*15*6; messages != want {
			b.Fatalf("%d messages, want %d", messages, want)
		}
	}
}
