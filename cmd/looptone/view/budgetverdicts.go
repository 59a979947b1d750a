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
	each          bool  // what would mend it names the device, too
}

// sayings are the verdicts of a limit that came out so.
func (t *budgetText) sayings(limit string, f loop.Finding) (all []*saying) {
	for i := range t.Verdicts {
		v := &t.Verdicts[i]
		if v.Limit != limit || v.Finding != f {
			continue
		}
		at := slices.IndexFunc(all, func(s *saying) bool { return s.saysOf(v) && s.mends(v) })
		if at < 0 {
			at, all = len(all), append(all, &saying{Verdict: v})
		}
		s := all[at]
		s.each = s.each || v.Mend != s.Mend
		if d := t.device(v.Device); d >= 0 {
			s.devices = append(s.devices, d)
		}
	}
	return all
}

func (s *saying) saysOf(v *loop.Verdict) bool { return alike(s.Says, s.Device, v.Says, v.Device) }
func (s *saying) mends(v *loop.Verdict) bool  { return alike(s.Mend, s.Device, v.Mend, v.Device) }

// alike reports whether two texts are the same but for the names of their devices, which
// each has at one place. A name may be a number that stands elsewhere for itself.
func alike(a, aName, b, bName string) bool {
	if a == b {
		return true
	}
	for at := range a {
		if rest, ok := strings.CutPrefix(a[at:], aName); ok && a[:at]+bName+rest == b {
			return true
		}
	}
	return false
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
	for n < len(all) && all[0].mends(all[n].Verdict) {
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
	if slices.ContainsFunc(all, func(s *saying) bool { return s.each || s.Mend != mend }) {
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
		for _, said := range t.held(limit) {
			t.labelled(2, limitColumn, limit, said)
			limit = ""
		}
	}
}

// held are the sentences of a limit that holds: those without a number, and of the
// others that whose number is closest to what is wanted.
func (t *budgetText) held(limit string) (said []string) {
	n, closest := 0, (*loop.Verdict)(nil)
	for i := range t.Verdicts {
		v := &t.Verdicts[i]
		switch {
		case v.Limit != limit || v.Finding != loop.Holds:
		case math.IsNaN(v.Got):
			said = append(said, v.Says)
		default:
			if n++; closest == nil || margin(v) < margin(closest) {
				closest = v
			}
		}
	}
	switch n {
	case 0:
		return said
	case 1:
		return append(said, closest.Says)
	}
	return append(said, closest.Says+" (the closest of "+many(int64(n), "case", "cases")+")")
}

// margin is how far a number is from its limit, as a share of it.
func margin(v *loop.Verdict) float64 { return math.Abs(v.Got-v.Want) / v.Want }
