package statefile

import (
	"fmt"
	"testing"

	"looptone/sim/device"
)

// BenchmarkSave is durable writes: one record after the other, and as many
// devices as a line may have whose records go together.
func BenchmarkSave(b *testing.B) {
	for _, devices := range []int{1, 15, 63} {
		b.Run(fmt.Sprintf("devices=%d", devices), func(b *testing.B) {
			f := mustOpen(b, newPath(b))
			m := device.Memory{Tag: new("LT-103"), Message: new("INLET OF THE SPHERICAL TANK"), Changes: 1}
			for b.Loop() {
				for n := range devices {
					f.Save(number(n), m)
				}
				mustSave(b, f, number(0), m)
			}
			b.ReportMetric(float64(b.N*devices)/b.Elapsed().Seconds(), "records/s")
		})
	}
}

// BenchmarkOpen is a whole look at a file with as many devices as a line may have.
func BenchmarkOpen(b *testing.B) {
	path := newPath(b)
	f := mustOpen(b, path)
	for n := range 63 {
		mustSave(b, f, number(n), device.Memory{Message: new("INLET OF THE SPHERICAL TANK")})
	}
	f.Close()
	for b.Loop() {
		f, err := Open(path)
		if err != nil {
			b.Fatal(err)
		}
		f.Close()
	}
}
