package payload_test

import (
	"errors"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
)

// A unit that the variable's class cannot have is refused, with those that it can.
//
// Source of the layout: Biffi ICON3000 HART manual MDE 254, p.40 (command 104);
// classes 64 and 65: p.49 and from memory.
func TestUnitOfAnotherQuantity(t *testing.T) {
	d, ok := payload.Lookup(104)
	if !ok {
		t.Fatal("no command 104")
	}
	words := func(class, unit string) []string {
		return []string{"burst_message=0", "burst_trigger=1", "trigger_classification=" + class,
			"trigger_unit=" + unit, "trigger_level=5"}
	}
	_, err := d.AppendWords(nil, frame.STX, 7, words("temperature", "kPa"))
	const want = "trigger unit is a unit of another quantity: got kPa, want one of °C, °F, °R, K"
	if !errors.Is(err, payload.ErrQuantity) || err.Error() != want {
		t.Errorf("\ngot  %v\nwant %s", err, want)
	}
	for _, fits := range [][2]string{{"temperature", "degC"}, {"pressure", "kPa"}, {"0", "kPa"}, {"66", "m3/h"}, {"66", "121"}} {
		if _, err := d.AppendWords(nil, frame.STX, 7, words(fits[0], fits[1])); err != nil {
			t.Errorf("%v: %v", fits, err)
		}
	}
}
