package view

import (
	"math"
	"strconv"

	"looptone/sim/loop"
)

// AppendBudget writes a budget as JSON objects, one a line: the line, its cables, its
// devices, the published rules, the verdicts, and what is taken for granted with the
// cautions. Numbers are rounded to millionths; what is not known is null. name is what
// the line is called.
func AppendBudget(dst []byte, name string, b *loop.Budget) []byte {
	dst = objectLine(dst, func(o *object) { o.loop(name, b) })
	for i := range b.Loop.Cables {
		dst = objectLine(dst, func(o *object) { o.cable(b, i) })
	}
	for i := range b.Loop.Devices {
		dst = objectLine(dst, func(o *object) { o.power(b, i) })
	}
	for i := range b.Rules {
		dst = objectLine(dst, func(o *object) { o.rule(&b.Rules[i]) })
	}
	for i := range b.Verdicts {
		dst = objectLine(dst, func(o *object) { o.limit(&b.Verdicts[i]) })
	}
	return objectLine(dst, func(o *object) {
		o.texts(`"assumed":`, Assumed)
		o.texts(`"cautions":`, Cautions)
	})
}

func objectLine(dst []byte, write func(*object)) []byte {
	o := object{b: append(dst, '{')}
	write(&o)
	return append(o.b, '}', '\n')
}

func (o *object) loop(name string, b *loop.Budget) {
	l := b.Loop
	o.text(`"line":`, name)
	o.bool(`"in_order":`, b.OK())
	o.amount(`"supply_v":`, l.Supply.V)
	o.amount(`"supply_ohm":`, l.Supply.Ohm)
	o.amountKnown(`"supply_ma":`, l.Supply.MostMA)
	o.amount(`"resistor_ohm":`, l.ResistorOhm)
	o.amount(`"barrier_ohm":`, l.BarrierOhm)
	o.key(`"series":`)
	o.b = append(o.b, '[')
	for i, in := range l.Series {
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.b = append(o.b, '{')
		o.text(`"name":`, in.Name)
		o.amount(`"ohm":`, in.Ohm)
		o.close()
	}
	o.b = append(o.b, ']')
	o.host(l)
	o.amount(`"cable_m":`, l.LengthM())
	o.amount(`"time_constant_us":`, l.TimeConstant())
	o.amount(`"sum_ma":`, b.Now.SumMA)
	o.amount(`"worst_sum_ma":`, b.Worst.SumMA)
	o.amount(`"source_v":`, b.Now.SourceV)
	o.amount(`"worst_source_v":`, b.Worst.SourceV)
	o.amountKnown(`"need_v":`, b.NeedV)
	n, like, ok := l.Most()
	if !ok {
		o.null(`"most_devices":`)
		o.null(`"most_like":`)
		return
	}
	o.int(`"most_devices":`, int64(n))
	o.text(`"most_like":`, like.Name)
}

// host says where the host is clipped on, as a line file does.
func (o *object) host(l *loop.Loop) {
	switch l.Host.At {
	case loop.AcrossSupply:
		o.plain(`"host_at":`, "supply")
	case loop.AcrossDevice:
		o.text(`"host_at":`, l.Devices[l.Host.Device].Name)
	default:
		o.plain(`"host_at":`, "resistor")
	}
	o.bool(`"host_swapped":`, l.Host.Swapped)
}

func (o *object) cable(b *loop.Budget, i int) {
	c := &b.Loop.Cables[i]
	o.text(`"cable":`, c.Name)
	o.behind(b.Loop, c.Behind)
	o.amount(`"length_m":`, c.LengthM)
	o.amount(`"ohm_per_km":`, c.OhmPerKM)
	o.amount(`"nf_per_km":`, c.NFPerKM)
	o.amount(`"end_v":`, b.Now.CableV[i])
	o.amount(`"worst_end_v":`, b.Worst.CableV[i])
}

// behind is the cable that something hangs behind; null is the source.
func (o *object) behind(l *loop.Loop, cable int) {
	if cable == loop.Source {
		o.null(`"behind":`)
		return
	}
	o.text(`"behind":`, l.Cables[cable].Name)
}

func (o *object) power(b *loop.Budget, i int) {
	d, now, worst := &b.Loop.Devices[i], &b.Now.Devices[i], &b.Worst.Devices[i]
	o.text(`"device":`, d.Name)
	o.behind(b.Loop, d.Behind)
	switch now.Dark {
	case loop.TooLow:
		o.plain(`"dark":`, "too low")
	case loop.Backwards:
		o.plain(`"dark":`, "reversed")
	default:
		o.null(`"dark":`)
	}
	o.amount(`"terminal_v":`, now.V)
	o.amount(`"had_v":`, now.WasV)
	o.amount(`"worst_terminal_v":`, worst.V)
	o.amountKnown(`"lift_off_v":`, d.LiftOffV)
	o.amount(`"loop_current_ma":`, now.MA)
	o.amount(`"worst_loop_current_ma":`, worst.MA)
	o.amount(`"input_nf":`, d.InputNF)
	o.amount(`"hears_v":`, b.Tones.Level(loop.TheHost, i))
	o.amount(`"heard_v":`, b.Tones.Level(i, loop.TheHost))
}

func (o *object) rule(r *loop.Rule) {
	o.text(`"rule":`, r.Name)
	o.amount(`"most_m":`, r.MostM)
	o.bool(`"binding":`, r.Binding)
	o.text(`"formula":`, r.Formula)
	o.text(`"source":`, r.Source)
}

func (o *object) limit(v *loop.Verdict) {
	o.text(`"limit":`, v.Limit)
	o.textOrNone(`"device":`, v.Device)
	o.plain(`"verdict":`, findingNames[v.Finding])
	o.amount(`"got":`, v.Got)
	o.amount(`"want":`, v.Want)
	o.textOrNone(`"unit":`, v.Unit)
	o.text(`"says":`, v.Says)
	o.textOrNone(`"mend":`, v.Mend)
}

var findingNames = [...]string{loop.Holds: "holds", loop.Broken: "broken", loop.Unknown: "unknown"}

// textOrNone writes a text; an empty one is null.
func (o *object) textOrNone(name, s string) {
	if s == "" {
		o.null(name)
		return
	}
	o.text(name, s)
}

// amountKnown writes a number of which 0 stands for not known.
func (o *object) amountKnown(name string, x float64) {
	if x == 0 {
		o.null(name)
		return
	}
	o.amount(name, x)
}

// amount writes a number to a millionth.
func (o *object) amount(name string, x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		o.null(name)
		return
	}
	o.key(name)
	o.b = strconv.AppendFloat(o.b, math.Round(x*1e6)/1e6+0, 'f', -1, 64) // + 0: no -0
}
