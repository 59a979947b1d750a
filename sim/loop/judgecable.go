package loop

import (
	"fmt"
	"math"
	"slices"
)

// judgeCable holds R·C against its limit: in metres where there is cable that could be
// shorter, else in microseconds.
func (c *condition) judgeCable(b *Budget) Verdict {
	v := Verdict{Limit: "cable", Got: c.TimeConstant(), Want: mostTimeConstant, Unit: "µs", Finding: broken(!c.fast())}
	g, w := against(v.Got, v.Want, 0)
	v.Says = fmt.Sprintf("R·C is %s µs, at most %s µs are allowed", g, w)
	if i := slices.IndexFunc(b.Rules, func(r Rule) bool { return r.Binding }); i >= 0 && c.LengthM() > 0 {
		v.Got, v.Want, v.Unit = c.LengthM(), b.Rules[i].MostM, "m"
		v.Says = b.Rules[i].says(v.Got)
	}
	if v.Finding == Broken {
		v.Mend = c.mend((*condition).fast, c.smallerResistor(), c.shorterCable(), c.lighterCable(), c.thickerCable(), c.smallerBarrier())
	}
	return v
}

// fast reports whether R·C is no more than it may be.
func (c *condition) fast() bool { return c.TimeConstant() <= mostTimeConstant+rounding }

// says holds a length against what the rule allows, which is rounded down to metres, but
// for a length that lies between.
func (r *Rule) says(lengthM float64) string {
	const longestM = 100e3 // to put a number to
	most := math.Floor(r.MostM)
	if lengthM > most && lengthM <= r.MostM {
		most = r.MostM
	}
	g, w := against(lengthM, most, 0)
	allows := w + " m"
	switch {
	case most == 0:
		allows = "none"
	case most > max(longestM, lengthM):
		allows = "more than 100 km"
	}
	return fmt.Sprintf("%s m of cable, %s allows %s", g, r.Name, allows)
}
