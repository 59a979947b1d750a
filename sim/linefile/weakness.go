package linefile

import (
	"fmt"
	"math"
	"strings"

	"looptone/sim"
	"looptone/sim/loop"
)

// findings are sentences on who hears nobody between the host and the devices; well is
// the one for when there are none any more.
func findings(l *loop.Loop, tones *loop.Tones) (list []string, well string) {
	hears := weak(l, func(i int) float64 { return tones.Level(i, loop.TheHost) })
	heard := weak(l, func(i int) float64 { return tones.Level(loop.TheHost, i) })
	if hears.all && heard.all {
		list = append(list, why(l)+fmt.Sprintf("at most %s mV of the tones reach the host, and %s mV a device, want %s mV",
			millivolts(hears.highest), millivolts(heard.highest), millivolts(sim.AlwaysHeard)))
	} else {
		list = hears.tell(list, l, "of the tones of %s reach the host", "of the tones reach the host")
		list = heard.tell(list, l, "of the host's tones reach %s", "of the host's tones reach a device")
	}
	return list, fmt.Sprintf("the host and the devices hear each other again: at least %s mV of the tones reach everybody",
		millivolts(min(hears.least, heard.least)))
}

// weakness is what is too weak to be heard.
type weakness struct {
	tags    []string
	levels  []float64
	highest float64 // of those
	least   float64 // of all
	all     bool
}

// weak are the devices whose level is too low.
func weak(l *loop.Loop, level func(i int) float64) (w weakness) {
	w.all, w.least = true, math.Inf(1)
	for i := range l.Devices {
		v := level(i)
		w.least = min(w.least, v)
		if v >= sim.AlwaysHeard {
			w.all = false
			continue
		}
		w.tags, w.levels, w.highest = append(w.tags, l.Devices[i].Name), append(w.levels, v), max(w.highest, v)
	}
	return w
}

// tell appends a sentence about some, with their tags, or about all; nothing about none.
func (w *weakness) tell(list []string, l *loop.Loop, some, all string) []string {
	var parts []string
	for i, tag := range w.tags {
		parts = append(parts, fmt.Sprintf("%s mV "+some, millivolts(w.levels[i]), tag))
	}
	switch {
	case parts == nil:
		return list
	case w.all:
		parts = []string{fmt.Sprintf("at most %s mV %s", millivolts(w.highest), all)}
	}
	return append(list, fmt.Sprintf("%s%s, want %s mV", why(l), strings.Join(parts, ", "), millivolts(sim.AlwaysHeard)))
}

// why is the reason for weak tones that can be told without measuring, in front of a
// sentence.
func why(l *loop.Loop) string {
	switch {
	case l.Host.At == loop.AcrossSupply:
		return "the host is clipped across the supply: "
	case l.ResistorOhm == 0:
		return "there is no resistor: "
	case l.ResistorOhm < loop.LowestOhm:
		return fmt.Sprintf("the resistor has only %g ohm: ", l.ResistorOhm)
	}
	return ""
}

// millivolts is a level as people read it, with as many digits as it needs to be told
// from the one that is wanted.
func millivolts(v float64) string {
	if v < 0.00005 {
		return "0"
	}
	digits := 0
	if v < 0.01 {
		digits = 1
	}
	if v < sim.AlwaysHeard {
		text, _ := apart(1000*v, 1000*sim.AlwaysHeard, digits)
		return text
	}
	return fmt.Sprintf("%.*f", digits, 1000*v)
}
