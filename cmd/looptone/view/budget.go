package view

import (
	"fmt"
	"slices"
	"strings"

	"looptone/frame"
	"looptone/sim/loop"
)

// Cautions are for whoever goes to a loop with its budget in hand.
//
// Source: common practice
var Cautions = []string{
	"Hazardous-area rules come first. In a classified area nothing is opened, clipped on or measured unless the area classification, the certificates of barrier and devices, and the permit allow it; nothing here proves that a loop is intrinsically safe.",
	"Switch the supply off before the loop is opened. The loop may drive a process: put the control loop in manual before that.",
	"An instrument or a laptop that is earthed through the mains can close an earth loop where it is clipped on. Use isolated equipment, or run it from its battery.",
	"The site's permit, local codes and licensed practice decide.",
}

// Assumed is what a budget takes for granted.
var Assumed = []string{
	"Nothing has inductance, and what is not described has neither resistance nor capacitance. The cable is at 20 °C.",
	"A device draws its current whatever its voltage is, from its lift-off voltage on. With less it is dark and draws nothing.",
	"Of the tones the weaker one counts, that of 1200 or that of 2200 Hz. Amplitudes are peak to peak.",
}

// Budget says what was reckoned of a loop: whether it will work and what is wrong, then
// the rest, then Assumed and Cautions. name is what the line is called.
func Budget(name string, b *loop.Budget) string {
	t := budgetText{Budget: b}
	t.say(name, "\n\n")
	t.answer()
	t.facts()
	t.cases("broken", loop.Broken)
	t.cases("not known", loop.Unknown)
	t.holding()
	t.wires()
	t.devices()
	t.rules()
	t.list("taken for granted", Assumed)
	t.list("cautions", Cautions)
	return string(t.b)
}

// A budgetText is a budget that is being written.
type budgetText struct {
	prose
	*loop.Budget
}

// answer answers the question of whoever plans a loop.
func (t *budgetText) answer() {
	broken, unknown := limits(t.Verdicts, loop.Broken), limits(t.Verdicts, loop.Unknown)
	said := "It will work: all limits hold."
	switch {
	case len(broken) > 0:
		said = "It will not work as it should. Broken: " + strings.Join(broken, ", ") + "."
	case len(unknown) > 0:
		said = "As far as is known it will work. Not known: " + strings.Join(unknown, ", ") + "."
	}
	t.say(Paragraph(0, 0, said))
}

// limits are those that came out so, each once.
func limits(all []loop.Verdict, f loop.Finding) (names []string) {
	for i := range all {
		if v := &all[i]; v.Finding == f && !slices.Contains(names, v.Limit) {
			names = append(names, v.Limit)
		}
	}
	return names
}

// facts are what the loop consists of, and what that comes to.
func (t *budgetText) facts() {
	t.fact("loop", t.parts())
	t.fact("now", short(t.Now.SumMA)+" mA"+t.tightest(t.Now)+t.dark())
	t.fact("at worst", short(t.Worst.SumMA)+" mA, all at their highest current"+t.tightest(t.Worst))
	if t.NeedV > 0 {
		t.fact("supply", "at least "+volts(upward(t.NeedV))+" V for the highest currents")
	}
	if n, like, ok := t.Loop.Most(); ok {
		t.fact("devices", room(n, like.Name))
	}
}

func (t *budgetText) fact(what, text string) { t.labelled(2, 12, what, text) }

// room is how many devices there is room for, as far as there are polling addresses.
func room(n int, like string) string {
	const addresses = frame.MaxPolling + 1
	switch {
	case n == 0:
		return "none like " + like + ", even parked at 4 mA"
	case n >= addresses:
		return fmt.Sprintf("as many like %s as there are polling addresses, %d, parked at 4 mA each", like, addresses)
	}
	return fmt.Sprintf("at most %d like %s, parked at 4 mA each", n, like)
}

// parts are what is on the wires; of the host there is a verdict.
func (t *budgetText) parts() string {
	l := t.Loop
	parts := []string{short(l.Supply.V) + " V supply", "no resistor"}
	if l.ResistorOhm > 0 {
		parts[1] = short(l.ResistorOhm) + " ohm resistor"
	}
	if l.BarrierOhm > 0 {
		parts = append(parts, short(l.BarrierOhm)+" ohm barrier")
	}
	for _, in := range l.Series {
		parts = append(parts, in.Name+" of "+short(in.Ohm)+" ohm")
	}
	if len(l.Cables) > 0 {
		parts = append(parts, metres(l.LengthM())+" of cable")
	}
	return strings.Join(append(parts, many(int64(len(l.Devices)), "device", "devices")), ", ")
}

// tightest says which device has least to spare, of those that are not dark.
func (t *budgetText) tightest(s *loop.Solution) string {
	at := -1
	for i := range s.Devices {
		if s.Devices[i].Dark == loop.Lit && (at < 0 || t.tighter(s, i, at)) {
			at = i
		}
	}
	if at < 0 {
		return ""
	}
	said := "; nothing left"
	if v := s.Devices[at].V; v > 0 {
		said = "; " + volts(v) + " V"
	}
	said += " at " + t.Loop.Devices[at].Name
	if least := t.Loop.Devices[at].LiftOffV; least > 0 {
		return said + ", which wants " + volts(least) + " V"
	}
	return said
}

// tighter reports whether device i has less to spare than device j. Where the lift-off
// voltage is not known, nobody can tell.
func (t *budgetText) tighter(s *loop.Solution, i, j int) bool {
	a, b := &t.Loop.Devices[i], &t.Loop.Devices[j]
	if (a.LiftOffV > 0) != (b.LiftOffV > 0) {
		return a.LiftOffV > 0
	}
	return s.Devices[i].V-a.LiftOffV < s.Devices[j].V-b.LiftOffV
}

// dark says who is.
func (t *budgetText) dark() string {
	var who []int
	for i := range t.Now.Devices {
		if t.Now.Devices[i].Dark != loop.Lit {
			who = append(who, i)
		}
	}
	if len(who) == 0 {
		return ""
	}
	return "; dark: " + t.names(who)
}

// names are those of devices, in the order of the loop; of three or more that follow
// each other the first and the last.
func (t *budgetText) names(devices []int) string {
	var said []string
	for i := 0; i < len(devices); {
		n := i + 1
		for n < len(devices) && devices[n] == devices[n-1]+1 {
			n++
		}
		if n-i < 3 {
			n = i + 1
			said = append(said, t.Loop.Devices[devices[i]].Name)
		} else {
			said = append(said, t.Loop.Devices[devices[i]].Name+" to "+t.Loop.Devices[devices[n-1]].Name)
		}
		i = n
	}
	return strings.Join(said, ", ")
}

// list is a block of sentences.
func (t *budgetText) list(heading string, sentences []string) {
	t.say("\n", heading, "\n")
	for _, s := range sentences {
		t.say(Paragraph(2, 0, s))
	}
}
