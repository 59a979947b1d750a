package master_test

import (
	"fmt"
	"testing"
	"time"

	"looptone/frame"
	"looptone/sim"
	"looptone/sim/device"
	"looptone/sim/master"
)

// A shared line is one on which two masters poll. It keeps an eye on every carrier.
type shared struct {
	*sim.Line
	polls    [2]*master.Poll
	seats    [2]*sim.Seat // of the primary and of the secondary master
	turns    [2]int64
	pauses   [2]sim.Tick // the longest from one turn to the next
	last     [2]sim.Tick // carrier on
	free     sim.Tick    // when the last carrier went off
	first    sim.Tick    // when the first one went on of those that are on
	bursts   int64
	overlaps int64
	latest   sim.Tick // the longest behind first that an overlap began
}

// share has two masters poll a line, each with queries of its own.
func share(t *testing.T, seed uint64, queries [2][]master.Query, detect sim.Tick, configs ...device.Config) *shared {
	t.Helper()
	s := &shared{Line: sim.NewLine(seed)}
	s.Log(s.hear)
	for _, c := range configs {
		d, err := device.New(c)
		if err != nil {
			t.Fatal(err)
		}
		s.Join(d).DetectAfter(detect)
	}
	for i, primary := range []bool{true, false} {
		s.polls[i] = &master.Poll{Queries: queries[i], Retries: 1}
		m := master.New(master.Config{Primary: primary}, s.polls[i].Run)
		t.Cleanup(m.Close)
		s.seats[i] = s.Join(m)
		s.seats[i].DetectAfter(detect)
	}
	return s
}

func (s *shared) hear(talker *sim.Seat, b *sim.Burst) {
	s.bursts++
	if b.At < s.free {
		s.overlaps++
		s.latest = max(s.latest, b.At-s.first)
	} else {
		s.first = b.At
	}
	s.free = max(s.free, b.Off())
	for i, seat := range s.seats {
		if seat != talker {
			continue
		}
		if s.turns[i]++; s.turns[i] > 1 {
			s.pauses[i] = max(s.pauses[i], b.At-s.last[i])
		}
		s.last[i] = b.At
	}
}

// crowd is devices 1 to 3, of which the first publishes, and what two masters ask them
// and a fourth one that is not there.
func crowd() (configs []device.Config, queries [2][]master.Query) {
	for i := range uint8(3) {
		c := four(5+i%2*2, i+1, sim.Tick(30+10*i)*sim.Millisecond)
		configs = append(configs, c)
	}
	configs[0].Bursts = []device.Publication{{Command: 3, Every: sim.Second}}
	for i := range queries {
		for polling := uint8(1); polling <= 4; polling++ {
			for _, command := range []uint16{3, 1 + uint16(i)} {
				queries[i] = append(queries[i], master.Query{Device: at(polling), Command: command})
			}
		}
	}
	return configs, queries
}

// longestPause is how long a master may have to wait for its next turn on a line with
// a bursting device: its own transaction, a burst, the other's transaction, a burst.
// The longest transaction is a request of command 0 with 20 preambles that nobody
// answers, or a short one with its reply, or who a device is at the beginning.
func longestPause(t *testing.T) sim.Tick {
	const latency = 50 * aSecond / 1000
	silent := int64(aLead + (20+5)*aCharacter + 33*aCharacter - aLead) // to the carrier of the burst
	identity := int64(aLead + (20+5)*aCharacter + latency + (5+5+2+22)*aCharacter + aTail)
	reading := int64(aLead + (5+9)*aCharacter + latency + (5+9+2+24)*aCharacter + aTail)
	transaction := max(silent, identity, reading)
	burst := int64(aLead + (5+9+2+24)*aCharacter + aTail)
	return sim.Tick(sumOf(t, "longest pause", []term{{"own transaction", transaction}, {"burst of command 3", burst},
		{"transaction of the other master", transaction}, {"burst of command 3", burst}}))
}

// The masters and a bursting device share a line for a time.
//
// Source: FieldComm Group support article 8000045189 (a burst tells which master may
// go next, and follows every reply).
func checkSharing(t *testing.T, duration sim.Tick, detect sim.Tick) {
	configs, queries := crowd()
	s := share(t, 1, queries, detect, configs...)
	s.Run(5 * sim.Second) // nobody knows of the bursts yet
	s.pauses = [2]sim.Tick{}
	began := time.Now()
	s.Run(duration)
	took := time.Since(began)
	t.Logf("%v took %v, %.0f times as fast as it goes; %d bursts, %d and %d turns, pauses up to %v and %v",
		duration.Duration(), took, duration.Seconds()/took.Seconds(), s.bursts, s.turns[0], s.turns[1],
		s.pauses[0].Duration(), s.pauses[1].Duration())
	if s.overlaps > 0 && s.latest >= detect {
		t.Errorf("%d overlaps, up to %d ticks behind a carrier, want none from %d on", s.overlaps, s.latest, detect)
	}
	if s.overlaps > 1 {
		t.Errorf("%d overlaps, want none but where both have just joined: then it is clear who may talk", s.overlaps)
	}
	bound := longestPause(t)
	for i := range s.turns {
		if s.pauses[i] > bound || s.pauses[i] < bound/2 {
			t.Errorf("master %d had to wait for %v, want at most %v", i, s.pauses[i].Duration(), bound.Duration())
		}
		if least := int64(duration / bound); s.turns[i] < least {
			t.Errorf("master %d had %d turns, want at least %d", i, s.turns[i], least)
		}
		all := s.polls[i].Tallies()
		if sum := all[len(all)-1]; sum.Damaged > s.overlaps || sum.Asked != s.turns[i] {
			t.Errorf("master %d: %+v, want nothing damaged and %d requests", i, sum, s.turns[i])
		}
	}
	if d := s.turns[0] - s.turns[1]; d < -2 || d > 2 {
		t.Errorf("%d and %d turns, want equally many", s.turns[0], s.turns[1])
	}
}

const (
	aDay  = 24 * 3600 * sim.Second
	aWeek = 7 * aDay
)

func TestTwoMastersAndABurstingDevice(t *testing.T) { checkSharing(t, aDay/4, 0) }

func TestTimingTwoMastersAndABurstingDeviceForAWeek(t *testing.T) { checkSharing(t, aWeek, 0) }

func TestTwoMastersAndABurstingDeviceWithLateCarrierDetect(t *testing.T) {
	for _, bits := range []sim.Tick{1, 3, 6} {
		checkSharing(t, aDay/24, bits*sim.Bit)
	}
}

// Masters that talk now and then, at moments of their own, find the line free. Where a
// carrier is noticed at once they never disturb each other; where it is noticed late,
// only as long as it has not been noticed.
func TestCarrierDetect(t *testing.T) {
	for _, bits := range []sim.Tick{0, 1, 3, 6} {
		every := [2]sim.Tick{sim.Second, 1003 * sim.Millisecond}
		var queries [2][]master.Query
		for i := range queries {
			queries[i] = []master.Query{{Device: master.Target{Address: frame.Polling(1)}, Command: 1, Every: every[i]}}
		}
		s := share(t, 1, queries, bits*sim.Bit, config(7, 1))
		s.Run(aDay / 12)
		name := fmt.Sprintf("carrier noticed %d bits late", bits)
		t.Logf("%s: %d bursts, %d overlaps, up to %d ticks late", name, s.bursts, s.overlaps, s.latest)
		switch {
		case bits == 0 && s.overlaps > 0:
			t.Errorf("%s: %d overlaps, want none", name, s.overlaps)
		case bits > 0 && s.latest >= bits*sim.Bit, bits == 6 && s.overlaps == 0:
			t.Errorf("%s: %d overlaps, up to %d ticks behind a carrier, want some, less than %d", name, s.overlaps, s.latest, bits*sim.Bit)
		}
		for i := range s.turns {
			if s.turns[i] < int64(aDay/12/every[i]*9/10) {
				t.Errorf("%s: master %d had %d turns in 2 hours, want nearly one every %v", name, i, s.turns[i], every[i].Duration())
			}
		}
	}
}
