package main

import (
	"bufio"
	"io"
	"path/filepath"
	"testing"

	"looptone/serialio/wave"
	"looptone/sim"
)

// BenchmarkLineWave renders a line on which somebody talks nearly always.
func BenchmarkLineWave(b *testing.B) {
	const span = 60 * sim.Second
	for b.Loop() {
		a, _, err := assemble("../../testdata/lines/two-masters.toml", nil)
		if err != nil {
			b.Fatal(err)
		}
		flags := waveFlags{file: filepath.Join(b.TempDir(), "line.wav"), rate: usualRate, depth: depthFlag{wave.PCM16}, fullScale: usualLineScale}
		out, err := flags.create()
		if err != nil {
			b.Fatal(err)
		}
		w := newLineWave(a, out)
		a.Line.Log(w.carrier)
		if err := runTo(b.Context(), a, w, span, bufio.NewWriter(io.Discard)); err != nil {
			b.Fatal(err)
		}
		if err := out.close(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(span.Seconds()*float64(b.N)/b.Elapsed().Seconds(), "×realtime")
}
