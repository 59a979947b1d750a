package view

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"looptone/sim/loop"
)

// mostCables is how many segments of cable are shown one by one.
const mostCables = 24

// wires are the voltages from the supply on.
func (t *budgetText) wires() {
	rows := [][]string{{"volts behind", "now", "at worst"}}
	for _, s := range steps(t.Budget) {
		rows = append(rows, []string{cut(s.name), left(s.now), left(s.worst)})
	}
	t.say("\n")
	t.table(rows)
	t.cables()
}

// cables are the segments of cable, and the voltages at their far ends.
func (t *budgetText) cables() {
	l := t.Loop
	if len(l.Cables) == 0 {
		return
	}
	rows := [][]string{{"volts at the end of", "now", "at worst", "metres", "ohm/km a core", "nF/km"}}
	for i := range l.Cables[:min(len(l.Cables), mostCables)] {
		c := &l.Cables[i]
		name := c.Name
		if c.Behind != i-1 {
			name += ", from " + place(l, c.Behind)
		}
		rows = append(rows, []string{cut(name), left(t.Now.CableV[i]), left(t.Worst.CableV[i]), short(c.LengthM), short(c.OhmPerKM), short(c.NFPerKM)})
	}
	t.say("\n")
	t.table(rows)
	if more := len(l.Cables) - mostCables; more > 0 {
		t.say("  … and ", many(int64(more), "more segment", "more segments"), " of cable\n")
	}
}

// cut is the beginning of a name that is too long for a table.
func cut(name string) string {
	const most = 40
	if utf8.RuneCountInString(name) <= most {
		return name
	}
	return string([]rune(name)[:most-1]) + "…"
}

// place is the end of a segment, or where the first one begins.
func place(l *loop.Loop, cable int) string {
	if cable == loop.Source {
		return "the beginning"
	}
	return l.Cables[cable].Name
}

// devices are what each device has; neighbours that have the same are in one row.
func (t *budgetText) devices() {
	rows := [][]string{{"devices", "volts now", "at worst", "lift-off", "mA now", "at worst", "hears mV", "heard mV"}}
	var who [][]int
	for i := range t.Loop.Devices {
		row := t.power(i)
		if last := len(who) - 1; last < 0 || !slices.Equal(rows[last+1][1:], row) {
			rows, who = append(rows, append([]string{""}, row...)), append(who, nil)
		}
		who[len(who)-1] = append(who[len(who)-1], i)
	}
	for i, list := range who {
		rows[i+1][0] = t.names(list)
	}
	t.say("\n")
	t.table(rows)
}

func (t *budgetText) power(i int) []string {
	d, now, worst := &t.Loop.Devices[i], &t.Now.Devices[i], &t.Worst.Devices[i]
	has, lift := left(now.V), "not known"
	hears, heard := millivolts(t.Tones.Level(loop.TheHost, i)), millivolts(t.Tones.Level(i, loop.TheHost))
	switch now.Dark {
	case loop.TooLow:
		has, hears, heard = "dark", "-", "-"
	case loop.Backwards:
		has, hears, heard = "reversed", "-", "-"
	}
	if d.LiftOffV > 0 {
		lift = hundredths(d.LiftOffV)
	}
	return []string{has, left(worst.V), lift, hundredths(now.MA), hundredths(worst.MA), hears, heard}
}

// rules are how much cable the published rules allow.
func (t *budgetText) rules() {
	if len(t.Rules) == 0 {
		return
	}
	t.say("\ncable of this make: ", metres(t.Loop.LengthM()), " laid, R·C ", short(t.Loop.TimeConstant()), " µs; by published rules at most\n")
	for i := range t.Rules {
		r := &t.Rules[i]
		said := r.Name
		if r.Binding {
			said += ", which decides"
		}
		t.labelled(2, 12, metres(math.Floor(r.MostM)), said+": "+r.Formula+" ("+r.Source+")")
	}
}

// left is the voltage that is left at a place. One below zero there is not: it stands for
// currents that the supply cannot push so far.
func left(v float64) string {
	if v < 0 {
		return "none"
	}
	return hundredths(v)
}

// hundredths is a number of a table; people read no -0.00.
func hundredths(x float64) string {
	return strconv.FormatFloat(math.Round(x*100)/100+0, 'f', 2, 64)
}

// volts is a voltage in a sentence: with one place or two behind the point.
func volts(x float64) string {
	s := hundredths(x)
	return strings.TrimSuffix(s, "0")
}

// short is a number in a sentence, with two places behind the point at the most.
func short(x float64) string {
	return strings.TrimSuffix(strings.TrimRight(hundredths(x), "0"), ".")
}

// metres rounds a length to whole metres; nobody lays more than a hundred kilometres.
func metres(m float64) string {
	if m > 100000 {
		return "> 100 km"
	}
	return strconv.FormatFloat(m, 'f', 0, 64) + " m"
}

// millivolts are those of a tone.
func millivolts(v float64) string { return strconv.FormatFloat(v*1000, 'f', 0, 64) }

// upward is a voltage in tenths that is not less than x.
func upward(x float64) float64 { return math.Ceil(x*10-1e-6) / 10 }
