package transmitter

import "looptone/frame/unit"

// A Totaliser adds up the flow that the primary variable is.
type Totaliser struct {
	Unit  unit.Code // of volume where the flow is one of volume, of mass where it is one of mass
	Begin Totals    // at line time 0
}

// Totals are what has flowed through, in the totaliser's unit.
type Totals struct {
	Net     float64 // what flowed back is taken off
	Forward float64 // what flowed back does not count
}
