package master

import (
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/sim"
)

// A Target is a device that is to be asked: by its tag or long tag, its unique
// address, or its polling address. Exactly one of the three counts.
type Target struct {
	Tag     string
	Address frame.Address // polling or unique; where Tag is empty
}

// A Query is one line of a schedule.
type Query struct {
	Device  Target
	Command uint16
	Data    []byte
	Every   sim.Tick // from one asking to the next; 0: as often as there are turns
}

// A Poll asks devices again and again. Its Run is a script. Every device is asked
// first who it is, with 20 preambles, and then with as many as it wants.
type Poll struct {
	Queries []Query
	Retries int            // how often to ask again in one round where there was no answer
	Rounds  int            // how often each query is asked; 0 for no end
	Tell    func(*Reading) // is told of every request that has ended; may be nil
}

// A Reading is a request that has ended.
type Reading struct {
	Query *Query
	Name  string // of the device: its tag, else its address
	*Transaction
	Try int // from 1
}

// Run is the script.
func (p *Poll) Run(yield func(*Transaction) bool) {}

// A Tally counts the requests of one query, or of a device, or of all.
type Tally struct {
	Name    string // of the device; empty for all
	Command int    // -1 for all commands of the device

	Asked    int64 // = Answered + Damaged + Silent + Busy + those under way
	Answered int64
	Damaged  int64 // something was heard that could not be read
	Silent   int64
	Busy     int64 // busy, or a delayed response goes on
	Retries  int64 // of Asked, those that repeat one before
	Response exchange.Quantiles
	Occupied sim.Tick // time that its characters and carriers, with those of the replies, had the line
	Last     sim.Tick // when the last answer ended; 0 for never
}

// Tallies are the counts so far: by device and command in the order of the
// schedule, behind the commands of a device the device, and at the end all.
func (p *Poll) Tallies() []Tally { return nil }

// Shortest is how long one round of a schedule takes at least: each query once, no
// damage, replies as late as latency, and of the given length of data where that
// is known.
func Shortest(queries []Query, preambles int, latency sim.Tick) sim.Tick { return 0 }
