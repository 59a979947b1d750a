package sim

import (
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"looptone/frame"
)

// A pick gives a number from 0 up to n.
type pick func(n int) int

// random picks by chance.
func random(seed uint64) pick { return rand.New(rand.NewPCG(seed, 1)).IntN }

// A scene is a line on which everything that stations can do is done, as pick has it.
type scene struct {
	*testing.T
	pick  pick
	line  *Line
	seats []*Seat
	all   []*port // those that are none hide it behind plain
	log   strings.Builder
	haunt func() // lets a ghost talk
}

// plain is a station that is no port.
type plain struct{ Station }

// play plays a scene for some seconds and gives everything that was heard and sent.
func play(t *testing.T, pick pick, share func(talker, listener *Seat) float32) string {
	return stage(t, pick, share).play()
}

func stage(t *testing.T, pick pick, share func(talker, listener *Seat) float32) *scene {
	s := &scene{T: t, pick: pick, line: NewLine(uint64(pick(1000))), haunt: func() {}}
	s.line.Levels(share)
	s.line.Log(func(talker *Seat, b *Burst) {
		if talker.Name != ghost {
			fmt.Fprintf(&s.log, "%s %d %x\n", talker.Name, b.At, b.Chars)
		}
	})
	s.line.Through(medium{s.hold, func(chars []byte, marks []frame.MarkAt) ([]byte, []frame.MarkAt) { return chars, marks }})
	s.line.Join(&tape{}) // there is always somebody who listens
	return s
}

func (s *scene) play() string {
	for range 2 + s.pick(3) {
		s.join()
	}
	for range 5 + s.pick(25) {
		s.line.Run(s.line.Now() + Tick(s.pick(int(40*Character))))
		s.haunt()
		s.act()
	}
	s.line.Run(s.line.Now() + 4*Second)
	for _, p := range s.all {
		p.write(&s.log)
	}
	return s.log.String()
}

// write writes all that was heard.
func (s *port) write(w io.Writer) {
	for _, h := range s.heard {
		fmt.Fprintf(w, "%d %d %d %d %+d %v %d %x\n", h.At, h.Begin, h.Start, h.End, h.Carrier, h.Event.Outcome, h.Event.Preambles, h.Event.Raw)
	}
	if len(s.told) > 0 {
		fmt.Fprintf(w, "%+v\n", s.told)
	}
}

// hold keeps a carrier on now and then.
func (s *scene) hold(_ Tick, talker *Seat, b *Burst) *Burst {
	if talker.Name != ghost && s.pick(6) == 0 {
		b.Tail += Tick(s.pick(int(100 * Character)))
	}
	return b
}

// join has somebody come.
func (s *scene) join() {
	p := &port{}
	for range s.pick(4) {
		p.bursts = append(p.bursts, s.burst())
	}
	slices.SortFunc(p.bursts, func(a, b *Burst) int { return int(a.At - b.At) })
	var station Station = p
	if s.pick(2) == 0 {
		station = plain{p}
	}
	seat := s.line.Join(station)
	seat.Name = fmt.Sprint("station ", len(s.all))
	seat.Echo(s.pick(4) == 0)
	seat.DetectAfter(Tick(s.pick(3)) * 4 * Bit)
	s.seats, s.all = append(s.seats, seat), append(s.all, p)
}

// burst is one to come soon.
func (s *scene) burst() *Burst {
	b := &Burst{At: s.line.Now() + Tick(s.pick(int(60*Character))), Lead: Tick(s.pick(6)) * Bit, Tail: Tick(1+s.pick(6)) * Bit,
		Chars: s.chars(), PPM: int32(s.pick(2000) - 1000), Level: []float32{0, 0.05, 0.12, 0.2, 1}[s.pick(5)]}
	if s.pick(6) == 0 {
		b.Pauses = []Pause{{Before: s.pick(len(b.Chars)), For: Tick(s.pick(int(2 * Character)))}}
	}
	return b
}

func (s *scene) chars() []byte {
	chars := message(s.T, 2+s.pick(5), []string{request, reply}[s.pick(2)])
	if s.pick(3) == 0 {
		chars[s.pick(len(chars))] ^= 1 << s.pick(8)
	}
	return chars
}

// act has something happen.
func (s *scene) act() {
	seat := s.seats[s.pick(len(s.seats))]
	switch s.pick(10) {
	case 0:
		s.join()
	case 1:
		s.line.Leave(seat)
	case 2:
		seat.Cut(s.pick(2) == 0)
		seat.Wake() // so that it is told now, whatever else happens
	case 3:
		seat.Mute(s.pick(2) == 0)
	case 4:
		seat.Echo(s.pick(2) == 0)
		seat.Wake()
	default:
		chars := s.chars()
		for len(chars) > 0 {
			n := 1 + s.pick(len(chars))
			s.line.Arrive(seat, s.line.Now()-Tick(s.pick(int(Bit))), chars[:n], nil)
			chars = chars[n:]
			s.line.Run(s.line.Now() + Tick(n)*Character)
			s.haunt()
		}
	}
}
