package page

import (
	"fmt"
	"strings"

	"looptone/sim/master"
)

// usualLast is the last polling address that a scan asks, as usual.
const usualLast = 15

// primaryBy is which master a wish means: without a word the primary one, or the
// secondary one where somebody outside may be the primary one.
func (h *Hands) primaryBy(w *Wish) bool {
	if w.As == "" {
		return !h.outside()
	}
	return w.As == "primary"
}

// deskBy is the desk of the master that a wish means.
func (h *Hands) deskBy(w *Wish) *desk {
	d := h.masters.desk(h.primaryBy(w))
	d.heedless = !h.outside()
	return d
}

// scan asks polling addresses who is there.
func (h *Hands) scan(w *Wish) (o Outcome, err error) {
	d, last := h.deskBy(w), usualLast
	if w.To != nil {
		last = *w.To
	}
	first := letter{to: whom{}, primary: d.primary}
	if err := first.show(&o); err != nil {
		return o, err
	}
	o.Says = fmt.Sprintf("the %s asks polling addresses 0 to %d who is there, one after the other", d.name(), last)
	if !w.Preview {
		d.look(h.scanning(w.By, last))
	}
	return o, nil
}

// scanning is the script of a scan, which tells what it has found.
func (h *Hands) scanning(by string, last int) master.Script {
	return func(yield func(*master.Transaction) bool) {
		var found []string
		s := master.Scan{To: uint8(last), Retries: retries, Found: func(f master.Found) { found = append(found, foundText(&f)) }}
		ended := true
		s.Run(func(t *master.Transaction) bool {
			ended = yield(t)
			return ended
		})
		switch {
		case !ended: // it was stopped
		case len(found) == 0:
			h.tell(by, "the scan has found nobody")
		default:
			h.tell(by, fmt.Sprintf("the scan has found %d: %s", len(found), strings.Join(found, ", ")))
		}
	}
}

// foundText is what was found at a polling address.
func foundText(f *master.Found) string {
	switch {
	case f.Unreadable:
		return fmt.Sprintf("something that cannot be read at %d", f.Polling)
	case f.Tag != nil && *f.Tag != "":
		return fmt.Sprintf("%s at %d", *f.Tag, f.Polling)
	}
	return fmt.Sprintf("%v at %d", f.Unique, f.Polling)
}
