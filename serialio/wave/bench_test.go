package wave

import (
	"bytes"
	"io"
	"testing"
)

// BenchmarkReadWAV reads 16 bits of one channel, as the demodulator does.
func BenchmarkReadWAV(b *testing.B) {
	const samples = 4 << 20
	var file bytes.Buffer
	w, err := NewWriter(&file, 48000, PCM16)
	if err != nil {
		b.Fatal(err)
	}
	w.Write(make([]float32, samples))
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
	dst := make([]float32, 8192)
	b.SetBytes(2 * samples)
	b.ReportAllocs()
	for b.Loop() {
		r, err := Open(bytes.NewReader(file.Bytes()), "x.wav", Options{})
		for err == nil {
			_, err = r.Read(dst)
		}
		if err != io.EOF {
			b.Fatal(err)
		}
	}
}

// BenchmarkWriteWAV writes 16 bits.
func BenchmarkWriteWAV(b *testing.B) {
	samples := swing(1 << 20)
	b.SetBytes(int64(2 * len(samples)))
	for b.Loop() {
		w, err := NewWriter(io.Discard, 48000, PCM16)
		if err == nil {
			err = w.Write(samples)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}
