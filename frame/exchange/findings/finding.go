package findings

import "looptone/frame/exchange"

// A Finding is what was found of one host and one rule.
type Finding struct {
	Primary bool // the host is the primary master; else the secondary one
	Rule    Rule
	Verdict Verdict

	Kept, Broken, InDoubt, NotMeasurable int64 // cases

	Examples []Example // the first of those that were broken, at most MostExamples
	Doubts   []Example // the same of those in doubt
	Hidden   string    // why the first of those was not measurable that were not
}

// MostExamples is how many examples are kept.
const MostExamples = 3

// An Example is one case, and where it was.
type Example struct {
	exchange.When
	Start int64  // index of the message's delimiter in its stream
	Text  string // what was found and what is wanted
}

// Verdict is what the cases of a rule come to.
type Verdict uint8

const (
	NotSeen       Verdict = iota // there was no case
	NotMeasurable                // there were, and the hook-up cannot show how they went
	InDoubt                      // none of them could be decided
	Kept                         // in all cases that could be
	Advised                      // an advice that was not followed
	Broken
)

// String is the verdict in a word or two.
func (v Verdict) String() string {
	return [...]string{"not seen", "not measurable", "in doubt", "kept", "advice", "broken"}[v]
}

// tally is what is counted of a rule.
type tally struct {
	kept, hidden    int64
	broken, doubted cases
	reason          string // why the first was hidden
}

// cases are counted, and the first of them kept.
type cases struct {
	count    int64
	examples [MostExamples]Example
}

// next is room for another example; nil where there are enough.
func (c *cases) next() *Example {
	c.count++
	if c.count > MostExamples {
		return nil
	}
	return &c.examples[c.count-1]
}

func (c *cases) kept() []Example {
	return append([]Example(nil), c.examples[:min(c.count, MostExamples)]...)
}

func (t *tally) finding(primary bool, r Rule) Finding {
	return Finding{
		Primary: primary, Rule: r, Verdict: t.verdict(r),
		Kept: t.kept, Broken: t.broken.count, InDoubt: t.doubted.count, NotMeasurable: t.hidden,
		Examples: t.broken.kept(), Doubts: t.doubted.kept(), Hidden: t.reason,
	}
}

func (t *tally) verdict(r Rule) Verdict {
	switch {
	case t.broken.count > 0 && r.Advice():
		return Advised
	case t.broken.count > 0:
		return Broken
	case t.kept > 0:
		return Kept
	case t.doubted.count > 0:
		return InDoubt
	case t.hidden > 0:
		return NotMeasurable
	}
	return NotSeen
}
