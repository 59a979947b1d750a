package main

import (
	"encoding/json"
	"slices"
	"strings"
	"time"

	"looptone/cmd/looptone/view"
	"looptone/frame/exchange"
	"looptone/frame/exchange/findings"
	"looptone/sim"
	"looptone/sim/fault"
	"looptone/sim/linefile"
)

// What a simulated line sees of a host, by the way that leads to it: a host on a pty
// or behind TCP hands over a message at once, one at a serial port has a modem
// between. A master that is simulated is seen with all that it does.
var (
	sightOfPipe   = findings.Sight{AtOnce: true, Direct: true, Watched: true, Carriers: true}
	sightOfPort   = findings.Sight{Late: portLateness, Watched: true}
	sightOfMaster = findings.Sight{Rounded: time.Microsecond, Single: true, Parity: true, Direct: true, Watched: true, Carriers: true}
)

// A hostJudge judges the hosts outside; where nobody has asked from outside, the
// masters that are simulated.
type hostJudge struct {
	judge   *findings.Judge
	noisy   bool    // faults change what anybody sends
	faulty  bool    // faults change what hosts outside send
	outside [2]bool // whether the secondary, the primary master asks from outside
	talks   talks
}

func newHostJudge() *hostJudge { return &hostJudge{judge: findings.New(sightOfMaster)} }

// addFault takes note of a fault that may change what hosts send.
func (h *hostJudge) addFault(f *fault.Fault) {
	h.noisy = h.noisy || f.Device == "" && f.Talker == "" && actsOnTalkers(f.Kind)
	h.faulty = h.faulty || h.noisy || f.Talker == fault.Host
}

// actsOnTalkers reports whether a kind of fault changes what somebody sends. Others
// have stations of their own, which are heard.
func actsOnTalkers(kind string) bool {
	kinds := fault.Kinds()
	i := slices.IndexFunc(kinds, func(k fault.Kind) bool { return k.Name == kind })
	return i >= 0 && kinds[i].Strikes == "talker"
}

// addAction takes note of a fault that an action adds.
func (h *hostJudge) addAction(x *linefile.Action) {
	if f, ok := x.Adds(); ok {
		h.addFault(&f)
	}
}

// carrier takes note of who talks, and tells of a master that talks over somebody.
func (h *hostJudge) carrier(talker *sim.Seat, b *sim.Burst) {
	if h == nil {
		return
	}
	over := h.talks.add(talker, b)
	primary, ok := asker(b)
	switch {
	case !ok || over.seat == nil || isPort(talker):
	case talker.Outside():
		h.judge.TalksOver(primary, b.At.Duration(), b.At-sim.Tick(len(b.Chars)+unheard)*sim.Character > over.on)
	case isMaster(talker) && b.At > over.on:
		h.judge.TalksOver(primary, b.At.Duration(), true)
	}
}

// unheard is how many characters later than a carrier goes on a host outside can hear
// of it: its lead and one character. What it hands over at once may have begun all its
// characters before.
const unheard = 2

// add judges a message.
func (h *hostJudge) add(m *exchange.Message) {
	if h == nil {
		return
	}
	outside := h.fromOutside(&m.Span)
	if primary, ok := findings.Asker(m); ok && outside {
		h.outside[masterIndex(primary)] = true
	}
	h.judge.Look(h.sight(outside, &m.Span))
	h.judge.Add(m)
}

// fromOutside reports whether a message is one of those whose characters have come
// from outside last. What arrived at once is logged as if it had taken its time, so
// somebody else may have begun meanwhile; but he has ended later.
func (h *hostJudge) fromOutside(at *exchange.Span) bool {
	host := &h.talks.host
	return host.seat != nil && sim.Ticks(at.Begin) < host.off && sim.Ticks(at.End) <= host.off+sim.Bit
}

// sight is what is seen of who says a message, from outside or not.
func (h *hostJudge) sight(outside bool, at *exchange.Span) (sight findings.Sight) {
	host := &h.talks.host
	begin, end := sim.Ticks(at.Begin), sim.Ticks(at.End)
	switch {
	case outside && isPort(host.seat):
		return sightOfPort
	case outside:
		sight = sightOfPipe
		sight.Talker, sight.Came = host.seat.Name, h.talks.came.Duration()
		sight.Direct = !h.faulty
	default:
		sight = sightOfMaster
		sight.Direct = false
		if last := &h.talks.last; last.during(begin, end) && isMaster(last.seat) {
			sight.Talker, sight.Direct = last.seat.Name, !h.noisy
		}
	}
	if h.talks.mixed.during(begin, end) {
		sight.Direct, sight.Talker, sight.Several = false, "", true
	}
	return sight
}

// isMaster reports whether a seat is that of a simulated master. What others say may
// look like a request by chance.
func isMaster(talker *sim.Seat) bool { return strings.HasSuffix(talker.Name, " master") }

// isPort reports whether a serial port leads to a talker, with a modem behind it and
// maybe more than one host.
func isPort(talker *sim.Seat) bool { return strings.HasPrefix(talker.Name, portSeat) }

func masterIndex(primary bool) int {
	if primary {
		return 1
	}
	return 0
}

// found is what is found so far.
func (h *hostJudge) found() *findings.Judge {
	if h.outside[0] || h.outside[1] {
		for _, primary := range []bool{false, true} {
			if !h.outside[masterIndex(primary)] {
				h.judge.Forget(primary)
			}
		}
	}
	return h.judge
}

// lines are the findings so far as JSON objects.
func (h *hostJudge) lines() []json.RawMessage {
	list := []json.RawMessage{}
	for i, f := range h.found().Findings() {
		list = append(list, view.AppendFinding(nil, i+1, &f))
	}
	return list
}

// showFindings tells at the end of a simulation what was found.
func (s *simulation) showFindings() error {
	if !s.findings {
		return nil
	}
	s.hosts.judge.End()
	out := s.out
	if s.objects() && !s.json {
		out = s.aside
	}
	return writeFindings(out, s.hosts.found(), s.json, nil)
}

// inOrder is what a simulation ends with: with --strict, something is not in order
// where a rule was broken.
func (s *simulation) inOrder() error {
	if s.strict && s.hosts.found().Broken() {
		return errNotInOrder
	}
	return nil
}
