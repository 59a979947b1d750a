package stimulus

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"

	"looptone/frame"
	"looptone/serialio/fsk"
	"looptone/serialio/modemcheck"
)

// How long things take, in seconds.
const (
	bit       = 1 / fsk.BitRate
	character = 11 * bit

	silence = 0.25    // at both ends of a file, and around what stands at the usual level
	lead    = 5 * bit // carrier before a first start bit, and behind a last stop bit: what is allowed
	toneOn  = 1.0
	toneOff = 0.5
)

// A composer makes a waveform of a recipe.
type composer struct {
	recipe
	set    *Set
	number int
	w      Waveform
	rand   *rand.Rand
	end    float64 // where the last carrier goes off
}

func (c *composer) compose() Waveform {
	seed := c.set.seedOf(c.name)
	c.rand = rand.New(rand.NewPCG(seed, 0x7374696d))
	c.level = cmp.Or(c.level, usualMV)
	c.w = Waveform{Name: c.name, File: fmt.Sprintf("%02d-%s.wav", c.number, c.name), Does: c.does,
		LevelMV: c.level, Must: c.must, Source: c.source, Limits: append([]string{}, c.limits...)}
	body := c.plan(seed)
	var behind []modemcheck.Message
	if c.around {
		c.addAround(&body[0])
		body, behind = body[1:len(body)-1], body[len(body)-1:]
	}
	for i := range body {
		c.add(&body[i], i == 0)
	}
	c.addTones()
	for i := range behind {
		c.addAround(&behind[i])
	}
	c.addSecond()
	c.w.Seconds = roundTime(math.Ceil((c.end+silence)*10) / 10)
	c.w.sound.channel = c.channelAt(seed)
	c.w.sound.peak = c.peak()
	return c.w
}

// plan is the messages, each for a device of its own, so that no two are alike.
func (c *composer) plan(seed uint64) []modemcheck.Message {
	n := c.messages
	switch {
	case c.tones > 0:
		n = 2
	case n == 0:
		n = usualMessages
	}
	if c.around && c.tones == 0 {
		n += 2
	}
	to := make([]frame.Address, n)
	for i := range to {
		to[i] = frame.Unique(0x3ffe, c.rand.Uint32N(1<<24))
	}
	plan := modemcheck.PlanTo(seed, n, 1, to...)
	for i := range plan {
		if c.preambles > 0 {
			plan[i].Preambles = c.preambles
		}
	}
	return plan
}

// addAround adds a message at the usual level, before or behind what is tested.
func (c *composer) addAround(m *modemcheck.Message) {
	c.send(m, usualMV, c.end+silence)
	c.w.Messages[len(c.w.Messages)-1].Around = true
}

// add adds a message behind those before, as the recipe has it.
func (c *composer) add(m *modemcheck.Message, first bool) {
	pause := float64(m.Pause) * character
	switch {
	case first:
		c.send(m, c.level, c.end+silence)
	case c.off > 0:
		c.send(m, c.level, c.end+c.off)
	case c.steady || m.Pause == 0:
		c.goOn(m, c.level, pause)
	default:
		c.send(m, c.level, c.end+pause)
	}
}

// send adds a message on a carrier of its own.
func (c *composer) send(m *modemcheck.Message, mv, at float64) {
	voice := c.voice
	voice.Amplitude = c.set.samples(mv)
	voice.Phase = c.rand.Float64() * 2 * math.Pi
	voice.Seed = c.rand.Uint64()
	c.w.sound.carriers = append(c.w.sound.carriers, &fsk.Carrier{At: at, Lead: lead, Tail: lead, Voice: voice})
	c.goOn(m, mv, 0)
}

// goOn adds a message to the last carrier, behind a pause at mark.
func (c *composer) goOn(m *modemcheck.Message, mv, pause float64) {
	carrier := c.w.sound.carriers[len(c.w.sound.carriers)-1]
	at := carrier.End() - carrier.Tail + pause
	if pause > 0 {
		carrier.Pauses = append(carrier.Pauses, fsk.Pause{Before: len(carrier.Chars), For: pause})
	}
	if c.gap > 0 {
		inside := m.Preambles + 1 + c.rand.IntN(len(m.Frame)-1)
		carrier.Pauses = append(carrier.Pauses, fsk.Pause{Before: len(carrier.Chars) + inside, For: c.gap * character})
	}
	chars := m.Chars()
	carrier.Chars = append(carrier.Chars, chars...)
	c.w.Messages = append(c.w.Messages, Message{At: roundTime(at), LevelMV: mv, Bytes: chars})
	c.end = carrier.End()
}

// addTones adds the carriers without characters.
func (c *composer) addTones() {
	for range c.tones {
		voice := fsk.Voice{Amplitude: c.set.samples(c.level), Phase: c.rand.Float64() * 2 * math.Pi}
		carrier := &fsk.Carrier{At: c.end + toneOff, Lead: toneOn, Voice: voice}
		c.w.sound.carriers = append(c.w.sound.carriers, carrier)
		c.w.Tones = append(c.w.Tones, Tone{At: roundTime(carrier.At), For: toneOn})
		c.end = carrier.End()
	}
}

// addSecond adds somebody else who talks all the while.
func (c *composer) addSecond() {
	if c.second == 0 {
		return
	}
	voice := fsk.Voice{Amplitude: c.set.samples(c.second), Phase: c.rand.Float64() * 2 * math.Pi, ClockPPM: 300}
	carrier := &fsk.Carrier{At: silence / 2, Lead: lead, Tail: lead, Voice: voice}
	for len(carrier.Chars) == 0 || carrier.End() < c.end {
		carrier.Chars = append(carrier.Chars, byte(c.rand.Uint32()))
	}
	c.end = carrier.End()
	c.w.sound.carriers = append([]*fsk.Carrier{carrier}, c.w.sound.carriers...)
}

// channelAt is the channel, in the unit of samples.
func (c *composer) channelAt(seed uint64) fsk.Channel {
	ch := c.channel
	ch.Rate, ch.Seed, ch.Hum = float64(c.set.Rate), seed, c.set.samples(ch.Hum)
	if c.ebn0 > 0 {
		ch.Noise = fsk.NoiseFor(c.ebn0, c.set.samples(c.level), ch.Rate)
	}
	return ch
}

// mostNoise is how many standard deviations of noise a file must have room for. What is
// beyond, less than 1 sample in a million, is clipped.
const mostNoise = 5

// peak is the most that a sample comes to.
func (c *composer) peak() float64 {
	loudest := c.level
	if c.around {
		loudest = max(loudest, usualMV)
	}
	ch := &c.w.sound.channel
	return (c.set.samples(loudest)+c.set.samples(c.second)+ch.Hum)/2 + mostNoise*ch.Noise
}

// roundTime is a time to the microsecond.
func roundTime(t float64) float64 { return math.Round(t*1e6) / 1e6 }

func number(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
