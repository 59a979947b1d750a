package frame_test

import (
	"math/rand/v2"
	"testing"

	"looptone/frame"
)

// traffic is n back-to-back frames of five preambles and up to 40 data bytes.
func traffic(n int) (stream []byte) {
	r := rand.New(rand.NewPCG(1, 2))
	for range n {
		f := frame.Frame{Kind: frame.STX, Primary: true, Address: frame.Unique(uint16(r.Uint32()), r.Uint32()),
			Command: uint8(r.Uint32()), Data: make([]byte, r.IntN(41))}
		if r.IntN(2) == 0 {
			f.Kind = frame.ACK
		}
		for i := range f.Data {
			f.Data[i] = byte(r.Uint32())
		}
		stream = frame.AppendPreambles(stream, 5)
		stream, _ = f.AppendBinary(stream)
	}
	return stream
}

func decodeAll(d *frame.Decoder, stream []byte, piece int) (frames int) {
	var ev frame.Event
	for len(stream) > 0 {
		n := min(piece, len(stream))
		d.Feed(stream[:n], nil)
		stream = stream[n:]
		for d.Next(&ev) {
			if ev.Outcome == frame.Whole {
				frames++
			}
		}
	}
	return frames
}

// BenchmarkDecoderWhole feeds a stream at once. The yardstick is a plain C
// splitter, which does about 500 MB/s on such a stream on one core.
func BenchmarkDecoderWhole(b *testing.B) { benchmarkDecoder(b, 1<<30) }

// BenchmarkDecoderPieces feeds the same stream as a port or a file would.
func BenchmarkDecoderPieces(b *testing.B) {
	b.Run("64KiB", func(b *testing.B) { benchmarkDecoder(b, 64<<10) })
	b.Run("100", func(b *testing.B) { benchmarkDecoder(b, 100) })
	b.Run("1", func(b *testing.B) { benchmarkDecoder(b, 1) })
}

func benchmarkDecoder(b *testing.B, piece int) {
	const n = 20_000
	stream := traffic(n)
	var d frame.Decoder
	decodeAll(&d, stream, piece) // so that the buffer has its size
	b.SetBytes(int64(len(stream)))
	b.ReportAllocs()
	for b.Loop() {
		if got := decodeAll(&d, stream, piece); got != n {
			b.Fatalf("%d frames, want %d", got, n)
		}
	}
}
