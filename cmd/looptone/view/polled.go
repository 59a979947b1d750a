package view

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"looptone/frame/exchange"
	"looptone/frame/payload"
	"looptone/sim"
	"looptone/sim/master"
)

// Polled is what a poll has counted.
type Polled struct {
	Master  string        // primary or secondary, where it must be told whose poll it is; else empty
	Took    time.Duration // since it began
	Now     sim.Tick
	Tallies []master.Tally // by device and command, behind them the device, and at the end all
	Late    Lateness
	Book    *payload.Book // names the commands; nil for the built-in definitions
}

// Lateness counts turns on the line that were taken too late, and by how much at
// the most.
type Lateness struct {
	Turns  int64
	Latest time.Duration
}

// Add counts one.
func (l *Lateness) Add(by time.Duration) {
	l.Turns++
	l.Latest = max(l.Latest, by)
}

// String says it in paragraphs: one a device, and one for all.
func (p *Polled) String() string {
	var b strings.Builder
	if p.Master != "" {
		fmt.Fprintf(&b, "what the %s master asked\n\n", p.Master)
	}
	from := 0
	for i := range p.Tallies {
		t := &p.Tallies[i]
		if t.Command >= 0 || t.Name == "" {
			continue
		}
		p.device(&b, t, p.Tallies[from:i])
		from = i + 1
	}
	if n := len(p.Tallies); n > 0 {
		all := &p.Tallies[n-1]
		fmt.Fprintf(&b, "all together in %.1f s: %s\n", p.Took.Seconds(), fates(all))
		p.pace(&b, "  ", all)
	}
	if p.Late.Turns > 0 {
		fmt.Fprintf(&b, "  %s taken late, by %d ms at the most\n",
			many(p.Late.Turns, "turn was", "turns were"), p.Late.Latest.Round(time.Millisecond).Milliseconds())
	}
	return b.String()
}

// device says what was counted of a device, and of each of its commands; what was
// never asked is left out.
func (p *Polled) device(b *strings.Builder, all *master.Tally, commands []master.Tally) {
	fmt.Fprintf(b, "%s\n", all.Name)
	read := 0
	for i := range commands {
		c := &commands[i]
		switch {
		case c.Asked == 0:
		case introduces(c.Command) && all.Asked > c.Asked:
			fmt.Fprintf(b, "  who it is (%d): %s\n", c.Command, fates(c))
		default:
			read++
			fmt.Fprintf(b, "  %s: %s\n", p.commandName(c.Command), fates(c))
			p.pace(b, "    ", c)
		}
	}
	if all.Asked == 0 {
		b.WriteString("  not asked yet\n")
	}
	if read > 1 {
		fmt.Fprintf(b, "  all its commands: %s\n", fates(all))
		p.pace(b, "    ", all)
	}
	b.WriteString("\n")
}

// commandName is a command by its name and number.
func (p *Polled) commandName(number int) string {
	if def, ok := p.Book.Lookup(uint16(number), payload.AnyDevice); ok {
		return fmt.Sprintf("%s (%d)", def.Name, number)
	}
	return fmt.Sprintf("command %d", number)
}

// fates says what came of requests; what is 0 is left out.
func fates(t *master.Tally) string {
	rest := tally([]counted{{t.Damaged, "damaged"}, {t.Silent, "silent"}, {t.Busy, "busy"}, {underWay(t), "under way"}})
	if rest != "" {
		rest = ", " + rest
	}
	text := fmt.Sprintf("%d asked, %d answered%s", t.Asked, t.Answered, rest)
	if t.Retries > 0 {
		text += fmt.Sprintf("; %d of them asked again", t.Retries)
	}
	return text
}

// pace says how soon replies came, how often, and how old they are.
func (p *Polled) pace(b *strings.Builder, margin string, t *master.Tally) {
	if q := &t.Response; q.Count > 0 {
		fmt.Fprintf(b, "%safter %d ms in the median, 95 %% within %d, 99 %% within %d, worst %d%s\n", margin,
			ms(q.Median), ms(q.Most95), ms(q.Most99), ms(q.Max), withDoubt(q))
	}
	fmt.Fprintf(b, "%s%.2f a second, on the line %.1f %% of the time%s\n", margin, p.perSecond(t), 100*p.utilisation(t), p.ageText(t))
}

func ms(t time.Duration) int64 { return t.Round(time.Millisecond).Milliseconds() }

// withDoubt is by how much response times may be wrong, where that matters.
func withDoubt(q *exchange.Quantiles) string {
	if q.Uncertainty <= time.Millisecond {
		return ""
	}
	return fmt.Sprintf(", each ± %d at most", ms(q.Uncertainty))
}

func underWay(t *master.Tally) int64 { return t.Asked - t.Answered - t.Damaged - t.Silent - t.Busy }

func (p *Polled) perSecond(t *master.Tally) float64 {
	return float64(t.Asked) / max(p.Took, time.Microsecond).Seconds()
}

func (p *Polled) utilisation(t *master.Tally) float64 {
	return t.Occupied.Seconds() / max(p.Took, time.Microsecond).Seconds()
}

// age is how old the oldest value of a tally is; ok is false where there is none.
func (p *Polled) age(t *master.Tally) (age time.Duration, ok bool) {
	oldest, ok := t.Last, t.Last > 0
	for i := range p.Tallies {
		c := &p.Tallies[i]
		part := t.Command < 0 && c.Command >= 0 && (t.Name == "" || c.Name == t.Name)
		if part && c.Last > 0 && !introduces(c.Command) {
			oldest = min(oldest, c.Last)
		}
	}
	return (p.Now - oldest).Duration(), ok
}

// introduces reports whether a command is one by which devices are found: who
// somebody is does not grow old.
func introduces(command int) bool { return command == 0 || command == 11 || command == 21 }

func (p *Polled) ageText(t *master.Tally) string {
	age, ok := p.age(t)
	if !ok {
		return ", no value"
	}
	if t.Command >= 0 {
		return fmt.Sprintf(", its value is %.1f s old", age.Seconds())
	}
	return fmt.Sprintf(", the oldest value is %.1f s old", age.Seconds())
}

// AppendJSON writes an object a tally, one a line.
func (p *Polled) AppendJSON(dst []byte) []byte {
	for i := range p.Tallies {
		dst = append(p.appendTally(dst, &p.Tallies[i]), '\n')
	}
	return dst
}

func (p *Polled) appendTally(dst []byte, t *master.Tally) []byte {
	o := object{b: append(dst, `{"event":"tally"`...)}
	if p.Master != "" {
		o.plain(`"master":`, p.Master)
	}
	if t.Name == "" {
		o.null(`"device":`)
	} else {
		o.text(`"device":`, t.Name)
	}
	if t.Command < 0 {
		o.null(`"command":`)
	} else {
		o.int(`"command":`, int64(t.Command))
	}
	o.int(`"asked":`, t.Asked)
	o.int(`"answered":`, t.Answered)
	o.int(`"damaged":`, t.Damaged)
	o.int(`"silent":`, t.Silent)
	o.int(`"busy":`, t.Busy)
	o.int(`"under_way":`, underWay(t))
	o.int(`"retries":`, t.Retries)
	o.quantiles(&t.Response)
	o.rounded(`"per_second":`, p.perSecond(t))
	o.rounded(`"utilisation":`, p.utilisation(t))
	if age, ok := p.age(t); ok {
		o.seconds(`"age":`, age)
	} else {
		o.null(`"age":`)
	}
	if t.Name == "" {
		o.seconds(`"took":`, p.Took)
		o.int(`"late_turns":`, p.Late.Turns)
		o.seconds(`"latest_turn":`, p.Late.Latest)
	}
	return append(o.b, '}')
}

func (o *object) quantiles(q *exchange.Quantiles) {
	if q.Count == 0 {
		o.null(`"response_time":`)
		return
	}
	o.open(`"response_time":`)
	o.seconds(`"median":`, q.Median)
	o.seconds(`"most_95":`, q.Most95)
	o.seconds(`"most_99":`, q.Most99)
	o.seconds(`"worst":`, q.Max)
	o.close()
}

// rounded writes a number to four places, without zeros at its end.
func (o *object) rounded(name string, x float64) {
	o.key(name)
	o.b = strconv.AppendFloat(o.b, math.Round(x*1e4)/1e4, 'f', -1, 64)
}
