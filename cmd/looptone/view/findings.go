package view

import (
	"looptone/frame/exchange/findings"
)

// verdicts are the headings of what was found, in their order, and why somebody
// reads on.
var verdicts = []struct {
	findings.Verdict
	heading string
}{
	{findings.Broken, "broken"},
	{findings.Advised, "better otherwise, but no breach"},
	{findings.InDoubt, "in doubt"},
	{findings.Kept, "kept"},
	{findings.NotSeen, "not seen"},
	{findings.NotMeasurable, "cannot be seen here"},
}

// Findings says in a block for each host what it kept and what it broke. inputs are
// the names of the inputs that the streams are of, nil for one input.
func Findings(j *findings.Judge, inputs []string) string {
	all := j.Findings()
	if len(all) == 0 {
		return "no request was heard, so there is nothing to say about a host\n"
	}
	p := prose{}
	for i := 0; i < len(all); {
		n := i
		for n < len(all) && all[n].Primary == all[i].Primary {
			n++
		}
		if i > 0 {
			p.say("\n")
		}
		p.say(masterName(all[i].Primary), " master: ", many(j.Requests(all[i].Primary), "request", "requests"), "\n")
		p.host(all[i:n], inputs)
		i = n
	}
	return string(p.b)
}

// host says what was found of one host, the worst first.
func (p *prose) host(all []findings.Finding, inputs []string) {
	for _, v := range verdicts {
		headed := false
		for i := range all {
			f := &all[i]
			if f.Verdict != v.Verdict {
				continue
			}
			if !headed {
				p.say("\n", v.heading, "\n")
				headed = true
			}
			p.finding(f, inputs)
		}
	}
}

func (p *prose) finding(f *findings.Finding, inputs []string) {
	p.say("  ", f.Rule.Says())
	broken := "broken"
	if f.Rule.Advice() {
		broken = "not followed"
	}
	said := tally([]counted{{f.Broken, broken}, {f.Kept, "kept"}, {f.InDoubt, "in doubt"}})
	if said != "" {
		p.say(": ", said)
	}
	if f.NotMeasurable > 0 && f.Verdict == findings.NotMeasurable {
		p.say(": ", f.Hidden)
	} else if f.NotMeasurable > 0 {
		p.say(", ", many(f.NotMeasurable, "time", "times"), " not to be seen (", f.Hidden, ")")
	}
	p.say("\n")
	p.examples(f.Examples, f.Broken, inputs)
	p.examples(f.Doubts, f.InDoubt, inputs)
	if len(f.Examples) > 0 {
		p.say("      source: ", f.Rule.Source(), "\n")
	}
}

// examples says where some cases were, of so many.
func (p *prose) examples(list []findings.Example, of int64, inputs []string) {
	for i := range list {
		e := &list[i]
		p.say("    ")
		if e.Span.Known {
			p.say(when(e.When, inputs), ", ")
		}
		p.say("message ")
		p.int(int64(e.Number))
		if !e.Span.Known {
			p.say(" at byte ")
			p.int(e.Start)
			if e.Stream < len(inputs) {
				p.say(" of ", inputs[e.Stream])
			}
		}
		p.say(": ", e.Text, "\n")
	}
	if more := of - int64(len(list)); more > 0 {
		p.say("    … and ")
		p.int(more)
		p.say(" more\n")
	}
}

// AppendFinding writes a finding as a JSON object; number counts them from 1.
func AppendFinding(dst []byte, number int, f *findings.Finding) []byte {
	o := object{b: append(dst, '{')}
	o.int(`"finding":`, int64(number))
	o.plain(`"master":`, masterName(f.Primary))
	o.text(`"rule":`, f.Rule.String())
	o.text(`"says":`, f.Rule.Says())
	o.bool(`"advice":`, f.Rule.Advice())
	o.text(`"verdict":`, f.Verdict.String())
	o.int(`"kept":`, f.Kept)
	o.int(`"broken":`, f.Broken)
	o.int(`"in_doubt":`, f.InDoubt)
	o.int(`"not_measurable":`, f.NotMeasurable)
	if f.Hidden != "" {
		o.text(`"reason":`, f.Hidden)
	}
	o.examples(`"examples":`, f.Examples)
	o.examples(`"doubts":`, f.Doubts)
	o.text(`"source":`, f.Rule.Source())
	return append(o.b, '}')
}

func (o *object) examples(name string, list []findings.Example) {
	o.key(name)
	o.b = append(o.b, '[')
	for i := range list {
		e := &list[i]
		if i > 0 {
			o.b = append(o.b, ',')
		}
		o.b = append(o.b, '{')
		o.int(`"n":`, int64(e.Number))
		o.int(`"stream":`, int64(e.Stream))
		o.int(`"start":`, e.Start)
		o.when(&e.Span)
		o.text(`"text":`, e.Text)
		o.close()
	}
	o.b = append(o.b, ']')
}
