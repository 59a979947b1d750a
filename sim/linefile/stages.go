package linefile

import (
	"fmt"
	"slices"
	"strings"

	"looptone/frame/near"
	"looptone/frame/userfile"
	"looptone/sim/setting"
	"looptone/sim/transmitter"
)

// stages reads the names of the stages in their order; nil for the usual one.
func stages(t *userfile.Table) []string {
	v, ok := t.Ask("stages")
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.RefuseValue("stages", `a list, for instance ["sensor", "range", "output"]`)
		return nil
	}
	known := stageNames()
	names := make([]string, len(list))
	for i, v := range list {
		name, ok := v.(string)
		if !ok || !slices.Contains(known, name) {
			t.Refuse(userfile.Element("stages", i), unknownStage(v, known))
			return nil
		}
		names[i] = name
	}
	return names
}

// rootLeftOut refuses an order without the transfer function that is usual for the
// kind of device. The user gave none, and would not know why it is missed.
func rootLeftOut(t *userfile.Table, order []string, k kind) {
	if k.power == 0.5 && order != nil && !slices.Contains(order, "transfer") && !t.Has("transfer") {
		t.Refuse("stages", setting.Refuse("stages", `a list without "transfer"`,
			`one with it, as a %s takes the root, or transfer = { power = "linear" }`, k.name))
	}
}

func unknownStage(v any, known []string) error {
	name, ok := v.(string)
	if !ok {
		return fmt.Errorf("stages: got %v, want the name of a stage in quotes, one of %s", v, strings.Join(known, ", "))
	}
	if instead := near.Name(name, known); instead != "" {
		return fmt.Errorf("stage %q is unknown: did you mean %q?", name, instead)
	}
	return fmt.Errorf("stage %q is unknown, want one of %s", name, strings.Join(known, ", "))
}

func stageNames() []string {
	var names []string
	for _, s := range transmitter.StageList() {
		names = append(names, s.Name)
	}
	return names
}
