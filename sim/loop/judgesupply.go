package loop

import "fmt"

// judgeSupply holds the sum of all currents against what the supply can carry.
func (c *condition) judgeSupply(b *Budget) Verdict {
	v := Verdict{Limit: "supply current", Got: max(b.Now.SumMA, b.Worst.SumMA), Want: c.Supply.MostMA, Unit: "mA"}
	if c.Supply.MostMA == 0 {
		w := words(v.Limit, "", Unknown, milliamperes(v.Got)+" are drawn at most; what the supply can carry is not known")
		w.Got, w.Unit = v.Got, v.Unit
		return w
	}
	v.Finding = broken(c.overloaded())
	v.Says = fmt.Sprintf("%s are drawn at most, the supply carries %s", milliamperes(v.Got), milliamperes(v.Want))
	if v.Finding == Broken {
		g, w := against(v.Got, v.Want, 0)
		v.Says = fmt.Sprintf("%s mA are drawn at most, the supply carries only %s mA", g, w)
		v.Mend = c.mend(func(c *condition) bool { return !c.overloaded() }, c.strongerSupply(), c.parkedDevices(), c.fewerToCarry())
	}
	return v
}

func (c *condition) overloaded() bool {
	most := max(c.Settle(c.now).SumMA, c.Solve(c.worst).SumMA)
	return most > c.Supply.MostMA+rounding
}

// strongerSupply raises what it carries by milliamperes.
func (c *condition) strongerSupply() way {
	const most = 10000
	from := int(c.Supply.MostMA + slack)
	return way{most - from, func(c *condition, step int) string {
		c.Supply.MostMA = float64(from + step)
		return fmt.Sprintf("a supply that carries at least %.0f mA", c.Supply.MostMA)
	}}
}
