//go:build unix

package live_test

import (
	"context"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/live"
	"looptone/sim/master"
	"looptone/sim/process"
	"looptone/sim/transmitter"
)

// BenchmarkThousandLines runs 1,000 lines of 15 devices in real time, each polled
// by a master without pause: how many cores that takes, and by how much replies leave
// later than they should. It does so for so long that one stall of the machine does not
// decide.
func BenchmarkThousandLines(b *testing.B) {
	const lines, span = 1000, 40 * time.Second
	for range b.N {
		var work sync.WaitGroup
		ctx, stop := context.WithTimeout(b.Context(), span)
		jitter := make([][]time.Duration, lines)
		before := processorTime(b)
		for i := range lines {
			line := polledLine(b, uint64(i))
			runner := live.NewRunner(line)
			began := time.Now()
			line.Log(func(talker *sim.Seat, burst *sim.Burst) {
				if talker.Name != "" {
					jitter[i] = append(jitter[i], time.Since(began)-burst.At.Duration())
				}
			})
			work.Go(func() { runner.Run(ctx, nil) })
		}
		work.Wait()
		stop()
		for _, line := range jitter {
			least := slices.Min(line) // from began to when line time began
			for i := range line {
				line[i] -= least
			}
		}
		all := slices.Concat(jitter...)
		slices.Sort(all)
		most := all[len(all)*999/1000]
		b.ReportMetric((processorTime(b)-before).Seconds()/span.Seconds(), "cores")
		b.ReportMetric(float64(most)/float64(time.Millisecond), "ms-99.9%")
		b.ReportMetric(float64(len(all))/lines/span.Seconds(), "replies/s")
	}
}

// processorTime is what the process has used so far.
func processorTime(b *testing.B) time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		b.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// polledLine is a line of 15 devices, and a master that asks them for command 3
// without pause. Its devices' seats have names.
func polledLine(b *testing.B, seed uint64) *sim.Line {
	bar := unitOf(b, "bar")
	line := sim.NewLine(seed)
	var unique []frame.Address
	for i := range uint8(15) {
		c := device.Config{
			Identity: device.Identity{Revision: 7, Maker: 249, Type: 0xf901, DeviceID: 100 + uint32(i), Preambles: 5, ReplyPreambles: 5},
			Tag:      "PT", Date: "2031-03-01", Polling: i, Latency: 40 * sim.Millisecond,
			Transmitter: transmitter.Config{
				Process: process.Config{Model: process.Constant(2.5)},
				Sensor:  transmitter.Sensor{Scale: transmitter.Scale{Upper: 10, Unit: bar}}, Range: transmitter.Scale{Upper: 10, Unit: bar},
			},
		}
		d, err := device.New(c)
		if err != nil {
			b.Fatal(err)
		}
		line.Join(d).Name = "device"
		unique = append(unique, c.Unique())
	}
	line.Join(master.New(master.Config{Primary: true}, func(yield func(*master.Transaction) bool) {
		for i := 0; ; i++ {
			if !yield(&master.Transaction{Address: unique[i%len(unique)], Command: 3, Preambles: 5}) {
				return
			}
		}
	}))
	return line
}
