package fsk_test

import (
	"fmt"
	"math"
	"testing"

	"looptone/frame"
	"looptone/serialio/fsk"
)

// What a practitioner meets beside the conditions of the matrix. Each file is made at
// two rates.
func TestPractice(t *testing.T) {
	for name, file := range map[string]func(rate float64) ([]float64, []sent){
		"hum of twice the tones":           hum,
		"2200 Hz weaker by 6 dB":           weakSpace,
		"2200 Hz stronger by 3 dB":         strongSpace,
		"trapezoid tones":                  trapezoids,
		"1 mV":                             func(rate float64) ([]float64, []sent) { return single(rate, &talk{amplitude: 1e-3}) },
		"10 V":                             func(rate float64) ([]float64, []sent) { return single(rate, &talk{amplitude: 10}) },
		"a thousandth of full scale":       func(rate float64) ([]float64, []sent) { return single(rate, &talk{amplitude: 1e-4}) },
		"thousands":                        func(rate float64) ([]float64, []sent) { return single(rate, &talk{amplitude: 2e3}) },
		"tones 1 % high":                   func(rate float64) ([]float64, []sent) { return single(rate, &talk{tones: 0.01}) },
		"tones 1 % low":                    func(rate float64) ([]float64, []sent) { return single(rate, &talk{tones: -0.01}) },
		"tones 1 % low, clock 1 % high":    func(rate float64) ([]float64, []sent) { return single(rate, &talk{tones: -0.01, clock: 0.01}) },
		"two preambles":                    fewPreambles,
		"two stations of different level":  twoLevels,
		"pauses inside a carrier":          pauses,
		"a long carrier before, no lead":   longLead,
		"a carrier that begins at a start": func(rate float64) ([]float64, []sent) { return single(rate, &talk{lead: -1}) },
		"a step of 16 mA in a message":     stepInside,
		"a recorder that is switched over": hardStep,
		"clipped to 70 %":                  clipped,
		"noise of 20 dB":                   func(rate float64) ([]float64, []sent) { return inNoise(rate, 20) },
		"noise of 15 dB":                   func(rate float64) ([]float64, []sent) { return inNoise(rate, 15) },
		"a coupling of 500 Hz":             coupled,
		"a level that fades by 20 dB":      fading,
		"a message of 255 characters":      longMessage,
		"only FF":                          func(rate float64) ([]float64, []sent) { return single(rate, &talk{chars: bytesOf(0xff, 60)}) },
		"only 00": func(rate float64) ([]float64, []sent) {
			return single(rate, &talk{chars: append(bytesOf(0xff, 5), bytesOf(0, 60)...)})
		},
		"only 55": func(rate float64) ([]float64, []sent) {
			return single(rate, &talk{chars: append(bytesOf(0xff, 5), bytesOf(0x55, 60)...)})
		},
	} {
		for _, rate := range []float64{9600, 44100} {
			t.Run(fmt.Sprint(name, "/", rate), func(t *testing.T) {
				samples, want := file(rate)
				expectAll(t, want, hear(rate, narrow(samples), 4096))
			})
		}
	}
}

func bytesOf(c byte, n int) []byte {
	b := make([]byte, n)
	for i := range b {
		b[i] = c
	}
	return b
}

// single is two carriers like k, of which the missing is filled in.
func single(rate float64, k *talk) ([]float64, []sent) {
	r := seeded(7)
	one := *k
	one.at = 0.0213
	one.tail = 4
	if one.lead == 0 {
		one.lead = 3.3
	}
	one.lead = max(one.lead, 0)
	if one.amplitude == 0 {
		one.amplitude = 0.5
	}
	if one.chars == nil {
		one.chars = message(r, 25)
	}
	two := one
	two.at = one.end() + 0.0317
	two.phase = 2
	return render(rate, two.end()+0.05, &one, &two)
}

func hum(rate float64) ([]float64, []sent) {
	samples, want := single(rate, &talk{amplitude: 0.5})
	for i := range samples {
		t := 2 * math.Pi * 50 * float64(i) / rate
		samples[i] += 0.5*math.Sin(t) + 0.05*math.Sin(3*t) + 0.02*math.Sin(5*t) // rectifiers add odd ones
	}
	return samples, want
}

func weakSpace(rate float64) ([]float64, []sent) {
	return single(rate, &talk{space: math.Pow(10, -6.0/20) - 1})
}

func strongSpace(rate float64) ([]float64, []sent) {
	return single(rate, &talk{space: math.Pow(10, 3.0/20) - 1})
}

func trapezoids(rate float64) ([]float64, []sent) { return single(rate, &talk{shape: trapezoid}) }

func fewPreambles(rate float64) ([]float64, []sent) {
	return single(rate, &talk{chars: append(bytesOf(0xff, 2), message(seeded(1), 12)[5:]...)})
}

func longLead(rate float64) ([]float64, []sent) { return single(rate, &talk{lead: 240.4}) }

func longMessage(rate float64) ([]float64, []sent) {
	return single(rate, &talk{chars: message(seeded(2), 262), clock: 0.01})
}

// twoLevels are a master beside the recorder and a device at the end of a cable, in turn
// with 20 ms between, each with its own clock.
func twoLevels(rate float64) ([]float64, []sent) {
	r := seeded(8)
	var talks []*talk
	at := 0.01
	for i := range 6 {
		k := &talk{at: at, lead: 2, tail: 3, chars: message(r, 15), amplitude: 1, clock: 0.008, phase: 6 * r.Float64()}
		if i%2 == 1 {
			k.amplitude, k.clock, k.rc = 0.05, -0.009, longCable
		}
		talks = append(talks, k)
		at = k.end() + 0.02
	}
	return render(rate, at, talks...)
}

// pauses are marks of any length between two characters of one carrier.
func pauses(rate float64) ([]float64, []sent) {
	r := seeded(9)
	k := &talk{chars: message(r, 40), pauses: make(map[int]float64)}
	for i := 8; i < len(k.chars); i += 1 + r.IntN(5) {
		k.pauses[i] = r.Float64() * []float64{1, 3, 11, 30}[r.IntN(4)]
	}
	return single(rate, k)
}

// stepInside is a loop current that goes from 4 to 20 mA in the middle of a message and
// back in the second, through the 25 Hz low-pass of a transmitter, of the second order.
func stepInside(rate float64) ([]float64, []sent) {
	samples, want := single(rate, &talk{amplitude: 0.25})
	first, second := newPole(25, rate), newPole(25, rate)
	for i := range samples {
		volts := 1.0
		if t := float64(i) / rate; t > 0.15 && t < 0.5 {
			volts = 5
		}
		samples[i] += second.pass(first.pass(volts))
	}
	return samples, want
}

// hardStep is a step without any filter shortly before the first message: a recorder that
// is switched over.
func hardStep(rate float64) ([]float64, []sent) {
	samples, want := single(rate, &talk{amplitude: 0.25})
	for i := range samples {
		if float64(i)/rate < 0.008 {
			samples[i] += 5
		}
	}
	return samples, want
}

func clipped(rate float64) ([]float64, []sent) {
	samples, want := single(rate, &talk{amplitude: 2})
	for i, v := range samples {
		samples[i] = max(-0.7, min(0.7, v))
	}
	return samples, want
}

// inNoise is short breaks, with noise at so much Eb/N0 in them too.
func inNoise(rate, db float64) ([]float64, []sent) {
	r := seeded(12)
	var talks []*talk
	at := 0.05
	for range 8 {
		k := &talk{at: at, lead: 1 + 4*r.Float64(), tail: 4, chars: message(r, 12), amplitude: 0.5, phase: 6 * r.Float64()}
		talks = append(talks, k)
		at = k.end() + shortGap
	}
	samples, want := render(rate, at, talks...)
	addNoise(r, samples, deviation(db, 0.5, rate))
	return samples, want
}

// coupled is a capacitor in front of the recorder that takes away even part of the tones.
func coupled(rate float64) ([]float64, []sent) {
	samples, want := single(rate, &talk{})
	below := newPole(500, rate)
	for i, v := range samples {
		samples[i] = v - below.pass(v)
	}
	return samples, want
}

func fading(rate float64) ([]float64, []sent) {
	samples, want := single(rate, &talk{})
	for i := range samples {
		samples[i] *= math.Pow(10, -(0.5 + 0.5*math.Sin(2*math.Pi*2*float64(i)/rate)))
	}
	return samples, want
}

// Behind a message that is damaged, the next one is whole, and in the same carrier the
// characters are in their places again after a few.
func TestAfterDamage(t *testing.T) {
	const rate = 48000.0
	for _, bits := range []float64{0.6, 3, 14, 40} {
		t.Run(fmt.Sprint(bits, " bits are missing"), func(t *testing.T) {
			samples, want := single(rate, &talk{chars: message(seeded(13), 60)})
			from := want[20].at + 3.4/1200
			for i := int(from * rate); i < int((from+bits/1200)*rate); i++ {
				samples[i] = 0
			}
			heard := hear(rate, narrow(samples), 4096)
			half := len(want) / 2
			next := want[half].at - quarterBit
			if c := count(want[half:], behind(heard, next)); c.errors() > 0 {
				t.Errorf("the next message: %v", &c)
			}
			before := characters(heard)
			for i, h := range before {
				if h.At > next {
					before = before[:i]
					break
				}
			}
			again := 20 + int(bits/11) + 8
			if c := count(want[again:half], behind(before, want[again].at-quarterBit)); c.errors() > 0 {
				t.Errorf("from %d characters behind the damage: %v", 8, &c)
			}
		})
	}
}

// What a station sends wrongly is marked, and only that; what follows is in its place.
func TestWrongBitsAreMarked(t *testing.T) {
	for _, rate := range []float64{9600, 48000} {
		for _, pause := range []float64{0, 0.5, 3} {
			t.Run(fmt.Sprint(rate, " pause ", pause), func(t *testing.T) {
				k := &talk{chars: message(seeded(11), 45), pauses: make(map[int]float64),
					wrong: map[int]frame.Mark{3: frame.Parity, 9: frame.Parity, 10: frame.Parity, 14: frame.Framing,
						20: frame.Framing | frame.Parity, 30: frame.Parity, 31: frame.Framing, 49: frame.Framing}}
				k.chars[9], k.chars[20], k.chars[30] = 0, 0, 0xff
				for i := range k.wrong {
					k.pauses[i+1] = pause
				}
				samples, want := single(rate, k)
				expectAll(t, want, hear(rate, narrow(samples), 4096))
			})
		}
	}
}

// A carrier without characters is a carrier and nothing else.
func TestCarrierAlone(t *testing.T) {
	for _, rate := range []float64{9600, 48000} {
		samples, _ := render(rate, 1, &talk{at: 0.1, lead: 900, amplitude: 0.5})
		heard := hear(rate, narrow(samples), 4096)
		if len(heard) != 2 || heard[0].Carrier != 1 || heard[1].Carrier != -1 {
			t.Errorf("%v S/s: got %+v, want a carrier that goes on and off", rate, heard)
			continue
		}
		if on, off := heard[0].At-0.1, heard[1].At-0.85; math.Abs(on) > 3.0/1200 || math.Abs(off) > 3.0/1200 {
			t.Errorf("%v S/s: carrier on %.2f bits late, off %.2f bits late", rate, on*1200, off*1200)
		}
	}
}

// A recording that begins or ends inside a message loses what is not whole, and a start
// in the middle may take a few characters to find its place.
func TestPartOfAMessage(t *testing.T) {
	const rate = 48000.0
	for seed := range uint64(8) {
		k := &talk{at: 0.02, lead: 3, tail: 4, chars: message(seeded(seed), 40), amplitude: 0.5}
		wave, want := render(rate, k.end()+0.05, k)
		samples := narrow(wave)
		from, until := want[9].at+float64(seed)/8*11/1200, want[33].at+float64(seed)/8*11/1200

		early := samples[:int(until*rate)]
		c := count(want[:33], characters(hear(rate, early, 4096)))
		if c.lost+c.wrong > 0 || c.extra > 1 {
			t.Errorf("ends in character 33: %v", &c)
		}

		late := samples[int(from*rate):]
		shifted := make([]sent, len(want))
		for i, w := range want {
			shifted[i] = sent{w.at - float64(int(from*rate))/rate, w.char, w.mark}
		}
		c = count(shifted[16:], behind(hear(rate, late, 4096), shifted[16].at-quarterBit))
		if c.errors() > 0 {
			t.Errorf("begins in character 9, from 16 on: %v", &c)
		}
	}
}

// behind are the characters that begin behind a time.
func behind(heard []fsk.Heard, at float64) (later []fsk.Heard) {
	for _, h := range characters(heard) {
		if h.At > at {
			later = append(later, h)
		}
	}
	return later
}
