package loop

import (
	"fmt"
	"math"
	"strconv"
)

// mostTimeConstant is the R·C that a loop stays below, in microseconds.
//
// Source: Siemens SITRANS Pointek CLS500 manual 7ML19985GG03 p.30; Yokogawa RotaMASS
// manual IM 01R04B04-00E p.6-1.
const mostTimeConstant = 65.0

// A Rule is a published rule for the length of the cable.
type Rule struct {
	Name    string  // a few words
	Formula string  // as it is used here, with units
	Source  string  // document and place
	MostM   float64 // all cable together that it allows, of the make that the loop has; 0 for none
	Binding bool    // the verdict on the cable is made of it; the others are shown beside it
}

// Rules are the published rules for the length of the cable, with what each allows on
// this loop. Without a cable there are none. A rule that sets this loop no limit, as
// where the cable has no capacitance, is left out.
//
// A tree of different cables grows in proportion: every segment by the same factor.
func (l *Loop) Rules() []Rule {
	if len(l.Cables) == 0 {
		return nil
	}
	rc := l.rc()
	all := append([]Rule{rc.product(), rc.receivers(), rc.master()}, maxima...)
	var rules []Rule
	for _, r := range all {
		if !math.IsInf(r.MostM, 1) {
			rules = append(rules, r)
		}
	}
	return rules
}

// LengthM is that of all cables together.
func (l *Loop) LengthM() (m float64) {
	for i := range l.Cables {
		m += l.Cables[i].LengthM
	}
	return m
}

// TimeConstant is R·C in microseconds: the resistance of the loop up to its far end,
// which is the end of most resistance, and all capacitance on it.
func (l *Loop) TimeConstant() float64 {
	rc := l.rc()
	_, cableNF := l.cableRC()
	return l.totalOhm() * (rc.devicesNF + rc.hostNF + cableNF) / 1000
}

// rc is what of a loop the rules for its cable are about.
type rc struct {
	ohm               float64 // resistor, barrier and instruments
	devicesNF, hostNF float64
	ohmPerM, nfPerM   float64 // of the cable, a metre of all segments together
}

func (l *Loop) rc() rc {
	r := rc{ohm: l.seriesOhm(), hostNF: l.Host.NF}
	for i := range l.Devices {
		r.devicesNF += l.Devices[i].InputNF
	}
	if m := l.LengthM(); m > 0 {
		ohm, nf := l.cableRC()
		r.ohmPerM, r.nfPerM = ohm/m, nf/m
	} else if len(l.Cables) > 0 { // how long may one be?
		r.ohmPerM, r.nfPerM = 2*l.Cables[0].OhmPerKM/1000, l.Cables[0].NFPerKM/1000
	}
	return r
}

// cableRC is the resistance to the end that has most of it, and the capacitance of all
// segments.
func (l *Loop) cableRC() (ohm, nf float64) {
	for i := range l.Cables {
		ohm, nf = max(ohm, l.pathOhm(i)), nf+l.Cables[i].nf()
	}
	return ohm, nf
}

// product is the rule that the tones themselves ask for: a product of R and C that
// takes the cable's own resistance in.
func (r rc) product() Rule {
	nf := r.devicesNF + r.hostNF
	room := mostTimeConstant*1000 - r.ohm*nf
	rule := Rule{
		Name: "R·C below 65 µs",
		Formula: fmt.Sprintf("(R + Rcable·L)·(C + Ccable·L) < 65 µs with R = %s ohm, Rcable = %s ohm/m, C = %s nF, Ccable = %s nF/m",
			plain(r.ohm), plain(r.ohmPerM), plain(nf), plain(r.nfPerM)),
		Source: "Siemens SITRANS Pointek CLS500 manual 7ML19985GG03 p.30, SITRANS LC500 manual 7ML19985GE01 p.24; " +
			"the limit also Yokogawa RotaMASS manual IM 01R04B04-00E p.6-1",
		Binding: true,
	}
	if room > 0 {
		square, slope := r.ohmPerM*r.nfPerM, r.ohm*r.nfPerM+nf*r.ohmPerM
		rule.MostM = 2 * room / (slope + math.Sqrt(slope*slope+4*square*room))
	}
	return rule
}

// receivers is the rule of a sum of the devices' capacitances, and 10 000 pF more; the
// cable's resistance is left out.
func (r rc) receivers() Rule {
	return Rule{
		Name: "capacitance of the receiving devices",
		Formula: fmt.Sprintf("L = 65·10⁶/(R·C) − (Cf + 10 000)/C with R = %s ohm, C = %s pF/m, Cf = %s pF",
			plain(r.ohm), plain(r.nfPerM*1000), plain(r.devicesNF*1000)),
		Source: "Yokogawa RotaMASS manual IM 01R04B04-00E p.6-1",
		MostM:  length(65e6/r.ohm-r.devicesNF*1000-10000, r.nfPerM),
	}
}

// master is the rule of a fixed capacitance that master and cable share.
func (r rc) master() Rule {
	return Rule{
		Name: "capacitance of the host and the cable",
		Formula: fmt.Sprintf("L = (160 000 − Cmaster)/C with Cmaster = %s pF, C = %s pF/m",
			plain(r.hostNF*1000), plain(r.nfPerM*1000)),
		Source: "Emerson DVC6000 SIS manual p.2-30",
		MostM:  length(160000-r.hostNF*1000, r.nfPerM),
	}
}

// length is that of a cable that has so many picofarads to take.
func length(pf, nfPerM float64) float64 {
	if pf <= 0 {
		return 0
	}
	return pf / (nfPerM * 1000)
}

// maxima are lengths that are quoted without a formula.
var maxima = []Rule{
	{Name: "longest single pair", Formula: "L = 2000 m, quoted with 24 AWG", MostM: 2000, Source: yokogawa},
	{Name: "longest multi-pair cable", Formula: "L = 1000 m, quoted with 24 AWG", MostM: 1000, Source: yokogawa},
	{Name: "longest screened pair of 0.5 mm²", Formula: "L = 3000 m, one pair, up to 15 devices", MostM: 3000,
		Source: "Instrumentation Reference Book, 3rd ed., p.227"},
}

const yokogawa = "Yokogawa RotaMASS manual IM 01R04B04-00E p.6-1, ADMAG AXFA11 manual IM 01E20C01 p.8-2"

// plain is a number of four digits, without an exponent.
func plain(x float64) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 4, 64), 64) // its own text
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
