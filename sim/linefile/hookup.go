package linefile

import (
	"errors"
	"slices"

	"looptone/frame/userfile"
)

// nfPerNumber is what a capacitance number of 1 stands for. It may be a fraction.
//
// Source: Mettler-Toledo Cond 7100e HART command specification (2004), and Micro Motion
// 2000 series HART command specification rev 6.0.
const nfPerNumber = 5

// mostNumber is the largest capacitance number that a description may hold.
const mostNumber = 1000

// A hookup is how a device hangs on the wires.
type hookup struct {
	behind   string // name of the cable at whose end it hangs, where that is said; empty is the source end
	placed   bool   // behind was said
	liftOffV float64
	inputNF  float64
	reversed bool
	given    bool // something of it was said
}

// hookupKeys are the keys of a device that are about the electricity.
var hookupKeys = []string{"behind", "lift_off_v", "input_nf", "capacitance_number", "reversed"}

// hookupOf reads how a device hangs on the wires.
func hookupOf(t *userfile.Table) hookup {
	h := hookup{
		inputNF:  t.Within("input_nf", 0, mostNF, 0),
		reversed: t.Truth("reversed", false),
	}
	h.behind, h.placed = t.Text("behind")
	if number := t.Within("capacitance_number", 0, mostNumber, 0); t.Has("capacitance_number") {
		h.inputNF = nfPerNumber * number
		if t.Has("input_nf") {
			t.Refuse("input_nf", errors.New("input_nf and capacitance_number both say what the input capacitance is: want one of the two"))
		}
	}
	if lift := t.AboveZero("lift_off_v", mostV, 1); t.Has("lift_off_v") {
		h.liftOffV = lift
	}
	h.given = slices.ContainsFunc(hookupKeys, t.Has)
	return h
}

// hangsAt is the name of the cable at whose end a device hangs: what it says, else the
// last one of the file; empty for the source end.
func (w *wiring) hangsAt(e *entry) string {
	if e.hookup.placed || len(w.cables) == 0 {
		return e.hookup.behind
	}
	return w.cables[len(w.cables)-1].Name
}

// checkBehind refuses a device behind a cable that is not there.
func (w *wiring) checkBehind(e *entry) error {
	if name := e.hookup.behind; name != "" && w.place(name) < 0 {
		return e.table.Placed("behind", w.unknownCable(name))
	}
	return nil
}
