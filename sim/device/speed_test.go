package device_test

import (
	"testing"
	"time"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/process"
)

// A hasty master asks polling addresses 0 to 14 for command 0, one after the other,
// each as soon as it may: after link grant, or behind a burst message.
type hasty struct {
	behind   frame.Kind
	polling  uint8
	request  sim.Burst
	chars    []byte
	answered int
	joined   bool
}

func (m *hasty) Step(now sim.Tick, heard []sim.Heard) (*sim.Burst, sim.Tick) {
	asks := !m.joined
	m.joined = true
	for i := range heard {
		switch h := &heard[i]; {
		case h.Carrier != 0:
			continue
		case h.Event.Frame.Kind == frame.ACK:
			m.answered++
			asks = asks || m.behind == frame.ACK
		case h.Event.Frame.Kind == frame.BACK:
			asks = asks || m.behind == frame.BACK
		}
	}
	if !asks {
		return nil, sim.Never
	}
	f := frame.Frame{Kind: frame.STX, Address: frame.Polling(m.polling), Primary: true}
	m.polling = (m.polling + 1) % 15
	m.chars, _ = f.AppendBinary(frame.AppendPreambles(m.chars[:0], 5))
	pause := sim.LinkGrant
	if m.behind == frame.BACK {
		pause = sim.CarrierTail
	}
	m.request = sim.Burst{At: now + pause, Lead: sim.CarrierLead, Tail: sim.CarrierTail, Chars: m.chars}
	return &m.request, sim.Never
}

// plain is a device at a polling address of which nothing but its identity is asked.
func plain(polling uint8) device.Config {
	c := config(7)
	c.Polling, c.DeviceID, c.LoopCurrent = polling, 100+uint32(polling), false
	c.Latency = 50 * sim.Millisecond
	c.Transmitter.Grid = time.Second
	c.Transmitter.Process = process.Config{Model: process.Constant(25)}
	return c
}

// BenchmarkIdentities runs 15 devices that are asked who they are without a pause;
// "x-real-time" is how much faster than the clock. The aim is 100,000 on one core.
func BenchmarkIdentities(b *testing.B) {
	runHasty(b, frame.ACK)
}

// BenchmarkPublishing is the same with one of them in burst mode.
func BenchmarkPublishing(b *testing.B) {
	runHasty(b, frame.BACK, device.Publication{Command: 1}, device.Publication{Command: 3, Every: 2 * sim.Second})
}

func runHasty(b *testing.B, behind frame.Kind, published ...device.Publication) {
	line := sim.NewLine(1)
	for polling := range uint8(15) {
		c := plain(polling)
		if polling == 7 {
			c.Bursts = published
		}
		d, err := device.New(c)
		if err != nil {
			b.Fatal(err)
		}
		line.Join(d)
	}
	m := &hasty{behind: behind}
	line.Join(m)
	line.Run(sim.Second)
	start := line.Now()
	b.ReportAllocs()
	for b.Loop() {
		line.Run(line.Now() + 100*sim.Second)
	}
	ran := (line.Now() - start).Seconds()
	b.ReportMetric(ran/b.Elapsed().Seconds(), "x-real-time")
	b.ReportMetric(float64(m.answered)/ran, "replies/s-of-line-time")
	if float64(m.answered) < ran {
		b.Errorf("%d replies in %v s", m.answered, ran)
	}
}
