package linefile

import (
	"errors"

	"looptone/sim"
	"looptone/sim/fault"
)

// An Action is something that is done to a line at a moment: [[at]] in a
// description, or a JSON object.
type Action struct {
	Time  sim.Tick // of the line
	Timed bool     // Time was given; else now

	verb string // set, mute, unmute, move, fault, remove, stop or go
}

// ReadAction reads a JSON object, such as {"mute":"FT-102"}. Errors have places in
// text, which they call file.
func (d *Description) ReadAction(file string, text []byte) (*Action, error) {
	return nil, errors.New("no actions yet")
}

// ReadFault reads what stands behind --fault, such as
// "late reply, device=LT-103, delay_chars=30".
func (d *Description) ReadFault(text string) (fault.Fault, error) {
	return fault.Fault{}, errors.New("no faults yet")
}

// Do does what x says: at once, or when its time comes. It says what was done, or
// will be.
func (a *Assembly) Do(x *Action) (did string, err error) { return "", errors.New("no actions yet") }

// A Clock lets line time stand still; [live.Runner] is one.
type Clock interface {
	Stop() error // the error says why not
	Go() error
}
