package sim

import "testing"

// BenchmarkSuperposition hears two messages of 24 characters that overlap.
func BenchmarkSuperposition(b *testing.B) {
	one := &Burst{Lead: 5 * Bit, Tail: 3 * Bit, Chars: make([]byte, 24)}
	two := &Burst{At: 7*Character + 2000, Lead: 5 * Bit, Tail: 3 * Bit, Chars: make([]byte, 24), PPM: 300}
	for i := range one.Chars {
		one.Chars[i], two.Chars[i] = byte(i*37), byte(i*91)
	}
	talks := []talk{{seat: &Seat{Name: "one"}, burst: one, level: 0.5}, {seat: &Seat{Name: "two"}, burst: two, level: 0.4}}
	var chars []Char
	for b.Loop() {
		chars = newSuperposition(talks, 1).hear(chars[:0], 0)
	}
	b.ReportMetric(two.Off().Seconds()*float64(b.N)/b.Elapsed().Seconds(), "×realtime")
}
