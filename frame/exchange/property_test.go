package exchange_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/frame"
	"looptone/frame/exchange"
)

// drawFrame is a frame of a small line, so that pairs, retries and strangers come
// up often.
func drawFrame(t *rapid.T) frame.Frame {
	address := rapid.SampledFrom([]frame.Address{frame.Polling(3), frame.Polling(4), device5, device7, frame.Broadcast}).Draw(t, "address")
	command := rapid.SampledFrom([]uint16{0, 1, 6, 11, 13, 200, 64512}).Draw(t, "command")
	data := rapid.SampledFrom([]string{"", "05", identity5, identity7, tagLT103}).Draw(t, "data")
	f := request(address, command, data)
	f.Primary = rapid.Bool().Draw(t, "primary")
	f.Kind = rapid.SampledFrom([]frame.Kind{frame.STX, frame.STX, frame.STX, frame.ACK, frame.ACK, frame.BACK}).Draw(t, "kind")
	if f.Kind.FromSlave() {
		f.Status.Response = frame.Response(rapid.SampledFrom([]uint8{0, 0, 0, 7, 32, 0x88}).Draw(t, "response"))
		f.Status.Device = frame.DeviceStatus(rapid.SampledFrom([]uint8{0, 0, 0x20, 0x28}).Draw(t, "status"))
	}
	return f
}

// drawStream is a conversation as characters and marks, with damage and noise.
func drawStream(t *rapid.T) (chars []byte, marks []frame.MarkAt) {
	for range rapid.IntRange(0, 30).Draw(t, "frames") {
		f := drawFrame(t)
		from := len(chars)
		chars = frame.AppendPreambles(chars, rapid.IntRange(2, 6).Draw(t, "preambles"))
		chars, _ = f.AppendBinary(chars)
		switch rapid.IntRange(0, 9).Draw(t, "trouble") {
		case 0:
			i := rapid.IntRange(from, len(chars)-1).Draw(t, "at")
			chars[i] ^= byte(rapid.IntRange(1, 255).Draw(t, "flipped"))
		case 1:
			i := rapid.IntRange(from, len(chars)-1).Draw(t, "marked")
			marks = append(marks, frame.MarkAt{Pos: int64(i), Mark: frame.Parity})
		case 2:
			chars = append(chars, rapid.SliceOfN(rapid.Byte(), 1, 5).Draw(t, "noise")...)
		case 3:
			marks = append(marks, frame.MarkAt{Pos: int64(len(chars) - 1), Mark: frame.Cut})
		}
	}
	return chars, marks
}

// tale is all that is told of a stream that comes in pieces, and what is counted.
type tale struct {
	told       []string
	events     [4]int64 // by outcome
	characters int64
	statistics exchange.Statistics
}

func tell(t *rapid.T, chars []byte, marks []frame.MarkAt, timed bool, piece func(left int) int) (all tale) {
	var d frame.Decoder
	var ev frame.Event
	var tracker exchange.Tracker
	var m exchange.Message
	s := &all.statistics
	add := func() {
		for tracker.Next(&m) {
			all.told = append(all.told, verdict(&m)+" "+told(&m))
			if s.Add(&m); s.Waiting() < 0 || s.Waiting() > 2 {
				t.Fatalf("behind %q %d requests wait", all.told, s.Waiting())
			}
		}
	}
	follow := func() {
		for d.Next(&ev) {
			all.events[ev.Outcome]++
			all.characters += ev.End - ev.Start + int64(ev.Preambles)
			at := untimed
			if timed {
				at = spanOf(&ev)
			}
			tracker.Follow(0, &ev, at)
			add()
		}
	}
	for pos := 0; pos < len(chars); {
		n := min(piece(len(chars)-pos), len(chars)-pos)
		var here []frame.MarkAt
		for _, k := range marks {
			if k.Pos >= int64(pos) && k.Pos < int64(pos+n) {
				here = append(here, k)
			}
		}
		d.Feed(chars[pos:pos+n], here)
		pos += n
		follow()
	}
	d.End()
	follow()
	tracker.End()
	add()
	return all
}

// Whatever is said: each request is answered, or unanswered, or still waiting;
// every frame is counted once in each of the tables; and how the stream was
// divided does not matter.
func TestConversations(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chars, marks := drawStream(t)
		timed := rapid.Bool().Draw(t, "timed")
		whole := tell(t, chars, marks, timed, func(left int) int { return left })
		checkSums(t, &whole)
		pieces := tell(t, chars, marks, timed, func(int) int { return rapid.IntRange(1, 40).Draw(t, "piece") })
		if !slices.Equal(whole.told, pieces.told) {
			t.Fatalf("in one piece\n%q\nin several\n%q", whole.told, pieces.told)
		}
		checkSums(t, &pieces)
	})
}

func checkSums(t *rapid.T, all *tale) {
	s := &all.statistics
	if s.Waiting() != 0 {
		t.Fatalf("at the end %d wait: %+v", s.Waiting(), s.Counts)
	}
	if s.Frames() != all.events[frame.Whole] || s.Errors.Damaged() != all.events[frame.Damaged] ||
		s.Errors.Noise+s.Errors.Strays+s.Errors.UnknownType != all.events[frame.Noise] || s.Characters != all.characters {
		t.Fatalf("%d characters, events by outcome %v\ncounted %+v", all.characters, all.events, s)
	}
	if s.Primary+s.Secondary != s.Requests {
		t.Fatalf("%d and %d of the masters are not %d", s.Primary, s.Secondary, s.Requests)
	}
	devices, others := s.Devices()
	of := []exchange.Counts{others.Counts}
	for _, d := range devices {
		of = append(of, d.Counts)
	}
	checkSum(t, "devices", s.Counts, of)
	of = nil
	for _, c := range s.Commands() {
		of = append(of, c.Counts)
	}
	checkSum(t, "commands", s.Counts, of)
}

func checkSum(t *rapid.T, name string, want exchange.Counts, of []exchange.Counts) {
	var sum exchange.Counts
	for _, c := range of {
		sum.Requests += c.Requests
		sum.Replies += c.Replies
		sum.Bursts += c.Bursts
		sum.Answered += c.Answered
		sum.Unanswered += c.Unanswered
		sum.Retries += c.Retries
		sum.Unasked += c.Unasked
		sum.Refused += c.Refused
		sum.Busy += c.Busy
		sum.Misheard += c.Misheard
	}
	if sum != want {
		t.Fatalf("the sum of the %s is %+v, want %+v", name, sum, want)
	}
}

// A second probe on the line changes nothing but the number of echoes.
func TestSecondProbe(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var one, two []heard
		now := time.Duration(0)
		for range rapid.IntRange(1, 20).Draw(t, "frames") {
			f := drawFrame(t)
			begin := now + time.Duration(rapid.IntRange(10, 400).Draw(t, "silence"))*time.Millisecond
			now = begin + 200*time.Millisecond
			a := heard{frame: f, at: at(begin, now)}
			b := heard{frame: f, at: at(begin, now), stream: 1}
			one, two = append(one, a), append(two, a, b)
		}
		alone, both := counted(t, one), counted(t, two)
		if both.Echoes != int64(len(one)) || both.Counts != alone.Counts || both.Responses() != alone.Responses() {
			t.Fatalf("with two probes %d echoes of %d, %+v\nwith one %+v", both.Echoes, len(one), both.Counts, alone.Counts)
		}
	})
}
