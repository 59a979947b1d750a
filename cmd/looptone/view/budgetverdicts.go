package view

import (
	"math"
	"slices"
	"strings"

	"looptone/sim/loop"
)

// mostCases is how many sentences of one limit are shown that differ in their numbers
// only.
const mostCases = 5

// limitColumn is where the text of a limit begins.
const limitColumn = 20

// A saying is what several verdicts say alike, but for the name of the device.
type saying struct {
	*loop.Verdict       // the first one
	devices       []int // whose it is; none for the loop's
}

// sayings are the verdicts of a limit that came out so.
func (t *budgetText) sayings(limit string, f loop.Finding) (all []*saying) {
	place := map[string]*saying{}
	for i := range t.Verdicts {
		v := &t.Verdicts[i]
		if v.Limit != limit || v.Finding != f {
			continue
		}
		words := nameless(v.Says, v.Device) + "\n" + nameless(v.Mend, v.Device)
		s := place[words]
		if s == nil {
			s = &saying{Verdict: v}
			place[words] = s
			all = append(all, s)
		}
		if at := t.device(v.Device); at >= 0 {
			s.devices = append(s.devices, at)
		}
	}
	return all
}

func nameless(text, device string) string {
	if device == "" {
		return text
	}
	return strings.ReplaceAll(text, device, "\x00")
}

// device is the index of a device; -1 where there is none.
func (t *budgetText) device(name string) int {
	for i := range t.Loop.Devices {
		if t.Loop.Devices[i].Name == name {
			return i
		}
	}
	return -1
}

// cases are the limits that came out so, each with what would mend it.
func (t *budgetText) cases(heading string, f loop.Finding) {
	names := limits(t.Verdicts, f)
	if len(names) == 0 {
		return
	}
	t.say("\n", heading, "\n")
	for _, limit := range names {
		label := limit
		all := t.sayings(limit, f)
		for len(all) > 0 {
			n := sameMend(all)
			t.sentences(label, all[:n])
			t.mend(all[:n])
			all, label = all[n:], ""
		}
	}
}

// sameMend is how many sayings from the first on are mended alike.
func sameMend(all []*saying) (n int) {
	mend := nameless(all[0].Mend, all[0].Device)
	for n < len(all) && nameless(all[n].Mend, all[n].Device) == mend {
		n++
	}
	return n
}

// mend says what would mend what is mended alike.
func (t *budgetText) mend(all []*saying) {
	mend := all[0].Mend
	if mend == "" {
		return
	}
	if mend != nameless(mend, all[0].Device) { // it names one device, but goes for each
		if rest := devicesOf(all)[1:]; len(rest) > 0 {
			mend += "; the same for " + t.names(rest)
		}
	}
	t.labelled(2, limitColumn, "", "To mend it: "+mend)
}

func devicesOf(all []*saying) (devices []int) {
	for _, s := range all {
		devices = append(devices, s.devices...)
	}
	slices.Sort(devices)
	return devices
}

// sentences says what was found; of many that differ in their numbers the first ones.
func (t *budgetText) sentences(label string, all []*saying) {
	shown := all
	if len(all) > mostCases+1 {
		shown = all[:mostCases]
	}
	for _, s := range shown {
		said := s.Says
		if len(s.devices) > 1 {
			said += "; the same for " + t.names(s.devices[1:])
		}
		t.labelled(2, limitColumn, label, said)
		label = ""
	}
	if rest := devicesOf(all[len(shown):]); len(rest) > 0 {
		t.labelled(2, limitColumn, "", "… and "+many(int64(len(rest)), "more case", "more cases")+": "+t.names(rest))
	}
}

// holding are the limits that hold, each with the case that is closest to it.
func (t *budgetText) holding() {
	names := limits(t.Verdicts, loop.Holds)
	if len(names) == 0 {
		return
	}
	t.say("\nin order\n")
	for _, limit := range names {
		n, closest := t.closest(limit)
		said := closest.Says
		if n > 1 {
			said += " (the closest of " + many(int64(n), "case", "cases") + ")"
		}
		t.labelled(2, limitColumn, limit, said)
	}
}

// closest is the verdict of a limit that holds whose number is closest to what is
// wanted, and of how many.
func (t *budgetText) closest(limit string) (n int, v *loop.Verdict) {
	for i := range t.Verdicts {
		w := &t.Verdicts[i]
		if w.Limit != limit || w.Finding != loop.Holds {
			continue
		}
		if n++; v == nil || margin(w) < margin(v) {
			v = w
		}
	}
	return n, v
}

// margin is how far a number is from its limit, as a share of it.
func margin(v *loop.Verdict) float64 {
	if m := math.Abs(v.Got-v.Want) / v.Want; !math.IsNaN(m) {
		return m
	}
	return math.Inf(1)
}
