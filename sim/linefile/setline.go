package linefile

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"looptone/frame/userfile"
	"looptone/sim"
)

// theLine stands for the line in the path of what is set. No tag is like it: tags have
// no lower-case letters.
const theLine = "line"

// underLine is the key of the line that a path leads to; ok is false for another path.
func underLine(path string) (key string, ok bool) {
	rest, ok := strings.CutPrefix(path, theLine)
	if !ok || rest != "" && rest[0] != '.' {
		return "", false
	}
	return strings.TrimPrefix(rest, "."), true
}

// checkLineKey refuses what makes the line.
func checkLineKey(t *userfile.Table, x *Action) {
	first, _, _ := strings.Cut(x.key, ".")
	switch {
	case x.key == "":
		t.RefuseValue("set", "a key of the line behind a point, for instance %s.supply_v", theLine)
	case slices.Contains(lineKeys, first):
		t.Refuse("set", fmt.Errorf("%s of the line cannot be set: it makes the line", first))
	}
}

// setLine reads the line as it will be wired. A supply that is too low for a device is
// not refused: that is what becomes of supplies.
func (p *plan) setLine(x *Action) (wiring, error) {
	t, err := p.wiring.table.Graft(x.key, x.to, x.table, "set", "to")
	if err != nil {
		return wiring{}, x.table.Placed("set", err)
	}
	return p.rewired(x, t)
}

// rewired reads the line as t describes it.
func (p *plan) rewired(x *Action, t *userfile.Table) (wiring, error) {
	var scratch Description
	w := scratch.line(t, &ground{})
	if err := t.End(); err != nil {
		return wiring{}, err
	}
	trial := p.clone()
	trial.wiring = w
	return w, x.fits(trial)
}

// fits refuses what does not go together on the wires when x is done. It is only
// because of x that it does not, so x is where it stands.
func (x *Action) fits(p *plan) error {
	_, err := p.wires()
	var refused *userfile.Error
	if errors.As(err, &refused) {
		return x.table.Placed("to", refused.Err)
	}
	return err
}

// setLine sets a value of the line.
func setLine(a *Assembly, now sim.Tick, x *Action) error {
	w, err := a.plan.setLine(x)
	if err != nil {
		return err
	}
	a.plan.wiring = w
	a.rewire(now)
	return nil
}
