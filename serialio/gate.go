package serialio

import (
	"fmt"
	"time"

	"looptone/frame"
)

// lateness is by how much a port may hand on characters later than the line they came
// in by, for instance a USB adapter that collects them.
//
// Source: common practice.
const lateness = 16 * time.Millisecond

// lookEvery is how often the carrier is looked at while nothing comes in.
const lookEvery = 4 * time.Millisecond

// A gate lets characters through while there is a carrier. One that has gone counts
// for the lateness of the port still, as the last characters are on their way.
type gate struct {
	state gateState
	gone  time.Time // since when it was seen to be off; while fading
	last  time.Time // when something passed that came in
}

type gateState uint8

const (
	carrierOff gateState = iota
	carrierOn
	carrierFading
)

// see is told whether there is a carrier at now, and returns what to hand on of it. An
// off bears the time when it was seen, or that of what passed behind it.
func (g *gate) see(on bool, now time.Time) (news []frame.Arrival) {
	if g.state == carrierFading && (on || now.Sub(g.gone) >= lateness) {
		news = append(news, frame.Arrival{At: latest(g.gone, g.last), Carrier: -1})
		g.state = carrierOff
	}
	switch {
	case on && g.state == carrierOff:
		news = append(news, frame.Arrival{At: now, Carrier: +1})
		g.state = carrierOn
	case !on && g.state == carrierOn:
		g.state, g.gone = carrierFading, now
	}
	return news
}

// passes reports whether what has come in when see was told last counts.
func (g *gate) passes() bool { return g.state != carrierOff }

// hearCarrier is hear behind a gate.
func (p *Port) hearCarrier(take func(frame.Arrival) bool) error {
	heard, quit, ended := make(chan frame.Arrival), make(chan struct{}), make(chan error, 1)
	defer close(quit)
	go func() {
		ended <- p.hear(func(a frame.Arrival) bool {
			select {
			case heard <- a:
				return true
			case <-quit:
				return false
			}
		})
	}()
	look := time.NewTicker(lookEvery)
	defer look.Stop()
	var g gate
	for next := (frame.Arrival{At: time.Now()}); ; {
		if more, err := p.pass(&g, next, take); !more {
			return err
		}
		select {
		case next = <-heard:
		case now := <-look.C:
			next = frame.Arrival{At: now}
		case err := <-ended:
			return err
		}
	}
}

// pass looks at the carrier, and hands on what is new of it and a, if it passes and has
// characters. False is the end of the port.
func (p *Port) pass(g *gate, a frame.Arrival, take func(frame.Arrival) bool) (more bool, err error) {
	on, err := p.modem.Inputs()
	if err != nil {
		p.closeLine() // releases the reader
		return false, fmt.Errorf("look for the carrier: %w", cause(err))
	}
	news := g.see(on&p.settings.Modem.Carrier != 0, a.At)
	switch {
	case len(a.Chars) == 0:
	case g.passes(), a.Echo != frame.NoEcho: // a modem may show no carrier of its own
		g.last = a.At
		news = append(news, a)
	default:
		p.dropped.Add(int64(len(a.Chars)))
	}
	for _, a := range news {
		if !take(a) {
			return false, nil
		}
	}
	return true, nil
}
