package modemcheck

// A Verdict is how one limit came out.
type Verdict struct {
	Limit
	From, To string // the ends, where it is of one way
	Finding  Finding
	Got      float64 // where there is a number; what it may come to at most is Bound, of what is left at least
	Bound    float64
	Unit     string // empty: there is no number
	Says     string // one sentence, without a full stop
}

// A Finding is how a verdict comes out.
type Finding uint8

const (
	NotMeasurable Finding = iota // with this hook-up, or nothing was heard that shows it
	Kept
	Broken
)

var findingNames = [...]string{NotMeasurable: "not measurable with this hook-up", Kept: "kept", Broken: "broken"}

func (f Finding) String() string { return findingNames[f] }

// limit is the limit of that name.
func limit(name string) Limit {
	for _, l := range Limits {
		if l.Name == name {
			return l
		}
	}
	panic("no limit is called " + name)
}

// broken is Broken or Kept.
func broken(is bool) Finding {
	if is {
		return Broken
	}
	return Kept
}
