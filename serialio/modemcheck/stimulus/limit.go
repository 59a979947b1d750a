package stimulus

import (
	"fmt"
	"slices"

	"looptone/serialio/modemcheck"
)

// mostNoisy is how many of 100 characters may be lost or wrong at the noise that every
// modem has to bear.
const mostNoisy = 1.0

// noiseTheory is where that comes from.
const noiseTheory = "common practice: a receiver without coherence, bit by bit, has 1 in 1000 characters wrong at 12.75 dB (Proakis, Digital Communications, from memory)"

// Limits are those that a modem is held against by waveforms: some of
// [modemcheck.Limits], and those that a port cannot show.
var Limits = append(slices.DeleteFunc(slices.Clone(modemcheck.Limits), func(l modemcheck.Limit) bool { return !slices.Contains(hearsWell, l.Name) }),
	modemcheck.Limit{Name: "messages around", Want: "the messages at the usual level before and behind come as they were sent", Source: practice},
	modemcheck.Limit{Name: "carrier at 120 mV", Want: "detected", Source: detectTable},
	modemcheck.Limit{Name: "carrier below 80 mV", Want: "not detected", Source: detectTable},
	modemcheck.Limit{Name: "characters in noise", Want: "at most 1 in 100 lost or wrong", Source: noiseTheory},
)

// unseen is a limit of which there is nothing to tell, and why.
func unseen(name, why string) modemcheck.Verdict {
	l, _ := limitOf(name)
	return modemcheck.Verdict{Limit: l, Says: why}
}

// found is a limit that is broken or kept.
func found(name string, isBroken bool, says string) modemcheck.Verdict {
	v := unseen(name, says)
	v.Finding = modemcheck.Kept
	if isBroken {
		v.Finding = modemcheck.Broken
	}
	return v
}

// Judge holds the waveform against its limits.
func (s *Score) Judge() {
	s.Verdicts = nil
	for _, name := range s.Waveform.Limits {
		s.Verdicts = append(s.Verdicts, s.verdict(name))
	}
}

func (s *Score) verdict(name string) modemcheck.Verdict {
	if s.Way == nil {
		return unseen(name, "there is no capture of it")
	}
	switch name {
	case "parity and framing":
		if !s.Way.Timing.Marks {
			return unseen(name, "the capture does not show them")
		}
	case "stray characters":
		if s.Way.Heard == 0 && len(s.Waveform.Tones) > 0 {
			return s.judgeQuiet(name)
		}
	case "messages around":
		return found(name, s.Around.Whole < s.Around.Sent, fmt.Sprintf("%d of %d came as they were sent", s.Around.Whole, s.Around.Sent))
	case "carrier at 120 mV":
		return s.judgeDetected(name)
	case "carrier below 80 mV":
		return s.judgeUndetected(name)
	case "characters in noise":
		return s.judgeNoise(name)
	}
	for _, v := range s.Way.Judge() {
		if v.Name == name {
			return v
		}
	}
	return unseen(name, "it is of another test")
}

// Why nothing is to tell of a carrier.
const (
	tellsNoCarrier = "the capture does not tell of carriers"
	aroundLost     = "the messages at the usual level around it did not come either"
)

func (s *Score) judgeDetected(name string) modemcheck.Verdict {
	if !s.TellsCarrier {
		return unseen(name, tellsNoCarrier)
	}
	return found(name, s.Detected < s.Carriers, fmt.Sprintf("%d of %d carriers were detected", s.Detected, s.Carriers))
}

// judgeQuiet is of carriers that nothing was made of.
func (s *Score) judgeQuiet(name string) modemcheck.Verdict {
	if s.Around.Whole == 0 {
		return unseen(name, aroundLost)
	}
	return found(name, false, "no character was made of a carrier without any")
}

// judgeUndetected reckons nothing to a modem that was not heard of at all.
func (s *Score) judgeUndetected(name string) modemcheck.Verdict {
	switch {
	case s.Around.Whole == 0:
		return unseen(name, aroundLost)
	case !s.TellsCarrier && s.Way.Heard > 0:
		return unseen(name, fmt.Sprintf("%d characters came, but %s", s.Way.Heard, tellsNoCarrier))
	case !s.TellsCarrier:
		return unseen(name, "no character came, but "+tellsNoCarrier)
	}
	return found(name, s.WentOn > 0, fmt.Sprintf("a carrier was reported %d times", s.WentOn))
}

func (s *Score) judgeNoise(name string) modemcheck.Verdict {
	w := s.Way
	share := 100 * float64(w.Lost+w.Wrong) / float64(max(w.Sent, 1))
	v := found(name, share > mostNoisy, fmt.Sprintf("%d of %d characters were lost and %d came as another one", w.Lost, w.Sent, w.Wrong))
	v.Got, v.Bound, v.Unit = share, mostNoisy, "%"
	return v
}
