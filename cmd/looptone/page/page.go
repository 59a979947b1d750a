package page

import (
	"crypto/rand"
	"encoding/hex"
	"sync"
	"sync/atomic"
	"time"

	"looptone/sim/linefile"
	"looptone/sim/live"
)

// Config is what a page shows, and what it may do.
type Config struct {
	Description *linefile.Description
	Shown       string   // which line it is, in words
	Outside     bool     // ways lead from outside to the line: its time never stands still
	Cautions    []string // where something real may be behind it
	Caution     string   // before something is written where somebody outside may be
	Fixed       string   // why the line cannot be put back to its start; empty: it can
	Polls       bool     // a master of the page polls all devices until somebody changes that
}

// A Page is the live page of a line: it follows what goes on there, tells browsers, and
// does what the holder of its key wants done.
type Page struct {
	config Config
	key    string
	hub    *hub
	now    atomic.Pointer[Scene]
	epoch  int
	ended  chan struct{}
	work   sync.WaitGroup

	patience       time.Duration // until a viewer who takes nothing is let go
	headerPatience time.Duration // until somebody who asks for nothing is
}

// keyLen is how many random bytes a key is made of.
const keyLen = 16

// New is a page that shows nothing yet.
func New(c Config) *Page {
	var key [keyLen]byte
	rand.Read(key[:]) // never fails
	p := &Page{config: c, key: hex.EncodeToString(key[:]), hub: newHub(), ended: make(chan struct{}),
		patience: patience, headerPatience: headerPatience}
	p.work.Go(p.tick)
	return p
}

// Key is what changes of the line are allowed with.
func (p *Page) Key() string { return p.key }

// Close ends the page. Nothing may be shown any more.
func (p *Page) Close() {
	close(p.ended)
	p.work.Wait()
	p.hub.close()
}

// Show shows a line from now on. It is called before r runs, which runs a.Line; when it
// has, [Scene.End] is to be called. The line tells the scene of carriers.
func (p *Page) Show(a *linefile.Assembly, r *live.Runner) *Scene {
	p.epoch++
	s := newScene(p, a, r)
	if hello := s.hello(); p.epoch == 1 {
		p.hub.begin(hello)
	} else {
		p.hub.tell("hello", hello)
	}
	p.now.Store(s)
	return s
}

// do has f done between two events of the line, and waits for it. ok is false where no
// line runs.
func (p *Page) do(f func(s *Scene)) (ok bool) {
	s := p.now.Load()
	if s == nil {
		return false
	}
	done := make(chan struct{})
	s.runner.Do(func() {
		f(s)
		close(done)
	})
	select {
	case <-done:
		return true
	case <-s.ended:
		select {
		case <-done:
			return true
		default:
			return false
		}
	}
}

// period is how often values are told.
const period = 500 * time.Millisecond

// tick tells values, and what else has changed without anybody saying so.
func (p *Page) tick() {
	ticker := time.NewTicker(period)
	defer ticker.Stop()
	for {
		select {
		case <-ticker.C:
			p.do((*Scene).look)
		case <-p.ended:
			return
		}
	}
}
