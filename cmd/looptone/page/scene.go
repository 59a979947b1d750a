package page

import (
	"reflect"
	"sync"
	"time"

	"looptone/sim"
	"looptone/sim/linefile"
	"looptone/sim/live"
)

// A Scene is a line while a page shows it. What it does it does between two events of
// the line, but for what says otherwise.
type Scene struct {
	page     *Page
	assembly *linefile.Assembly
	runner   *live.Runner
	epoch    int
	over     bool // the line is to be put back to its start
	ended    chan struct{}
	once     sync.Once

	stations stations
	witness  *witness
	carriers int64   // how many there were
	said     Carrier // the last of them
	clock    clock
	asking   asking
	hands    *Hands
	picture  picture
	stood    Standing // as it was told
	apart    archive
	trend    *trendStation
	ticks    int
}

func newScene(p *Page, a *linefile.Assembly, r *live.Runner) *Scene {
	s := &Scene{page: p, assembly: a, runner: r, epoch: p.epoch, ended: make(chan struct{})}
	a.Clock = &s.clock
	s.clock.scene, s.asking.scene = s, s
	s.witness = newWitness(s)
	s.witness.seat = a.Line.Join(s.witness)
	s.trend = keepTrend(a, s.epoch)
	s.hands = newHands(s)
	s.stations.look(s)
	s.picture = s.paint()
	return s
}

// End ends the scene: its line does not run any more. It may be called from any
// goroutine, and more than once.
func (s *Scene) End() {
	s.once.Do(func() {
		s.hands.Close()
		close(s.ended)
	})
}

// Over reports whether somebody at the page wants the line put back to its start.
func (s *Scene) Over() bool { return s.over }

// tell tells all browsers.
func (s *Scene) tell(name string, data any) { s.page.hub.tell(name, data) }

// News tells what has happened on the line.
func (s *Scene) News(by, says string) {
	s.tell("news", News{Time: s.assembly.Line.Now().Seconds(), By: by, Says: says})
}

// Did tells of an action, and shows what it has changed.
func (s *Scene) Did(by, says string) {
	s.News(by, says)
	s.look()
}

// look tells what has changed since the last time.
func (s *Scene) look() {
	if s.stations.look(s) {
		s.tell("stations", s.stations.lanes())
	}
	if now := s.paint(); s.page.hub.partial.Swap(false) || !reflect.DeepEqual(now, s.picture) {
		s.picture = now
		s.tell("hello", s.hello())
	}
	s.tell("values", s.values())
	s.tellStanding()
	s.clock.look()
	if s.ticks++; s.ticks%int(time.Second/period) == 0 {
		s.clock.tell()
	}
}

// standing is what was done to the line.
func (s *Scene) standing() (x Standing) {
	s.hands.Stand(&x)
	x.Restart = s.page.config.Fixed
	return x
}

func (s *Scene) tellStanding() {
	if now := s.standing(); !reflect.DeepEqual(now, s.stood) {
		s.stood = now
		s.tell("standing", now)
	}
}

// simulated reports whether nobody outside can be on the line.
func (s *Scene) simulated() bool { return !s.page.config.Outside }

// hello is the line as it is now, without what went on there.
func (s *Scene) hello() *Hello {
	c := &s.page.config
	cautions := c.Cautions
	if cautions == nil {
		cautions = []string{}
	}
	return &Hello{
		Line: s.assembly.Name, Shown: c.Shown, Epoch: s.epoch, Simulated: s.simulated(), Cautions: cautions,
		Timers: timers(), Clock: s.clock.now(), Stations: s.stations.lanes(),
		Loop: s.picture.Loop, Devices: s.picture.Devices, Kinds: s.picture.Kinds,
		Carriers: []Carrier{}, Messages: []Message{}, News: []News{},
		Standing: s.standing(), Ask: s.asking.told, Values: s.values(),
	}
}

func timers() map[string]float64 {
	return map[string]float64{
		"slave_time_out":       sim.Tick(sim.SlaveTimeOut).Seconds(),
		"hold":                 sim.Tick(sim.Hold).Seconds(),
		"link_grant":           sim.Tick(sim.LinkGrant).Seconds(),
		"link_quiet_primary":   sim.Tick(sim.LinkQuietPrimary).Seconds(),
		"link_quiet_secondary": sim.Tick(sim.LinkQuietSecondary).Seconds(),
		"character":            sim.Character.Seconds(),
		"bit":                  sim.Bit.Seconds(),
	}
}
