package fsk_test

import (
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
)

// Reading four minutes of a waveform of 16 bits on one core: by the way that `decode`
// goes, and by minimodem with its default width. What counts is "× real time".
func BenchmarkReadWaveform(b *testing.B) {
	const seconds = 240
	file := filepath.Join(b.TempDir(), "traffic.wav")
	traffic(b, file, false, seconds)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	perSecond := func(b *testing.B) { b.ReportMetric(float64(b.N)*seconds/b.Elapsed().Seconds(), "×real-time") }
	b.Run("here", func(b *testing.B) {
		for b.Loop() {
			if _, err := decodeFile(file); err != nil {
				b.Fatal(err)
			}
		}
		perSecond(b)
	})
	b.Run("minimodem", func(b *testing.B) {
		minimodem := need(b, "minimodem")
		for b.Loop() {
			if err := exec.Command(minimodem, minimodemArgs(file)...).Run(); err != nil {
				b.Fatal(err)
			}
		}
		perSecond(b)
	})
}
