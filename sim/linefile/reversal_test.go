package linefile_test

import (
	"strings"
	"testing"

	"looptone/sim"
	"looptone/sim/linefile"
)

// reversibly does a JSON object and wants the sentences of it and of what takes it back.
func reversibly(t *testing.T, d *linefile.Description, a *linefile.Assembly, text, says, back, action string) *linefile.Reversal {
	t.Helper()
	x, err := d.ReadAction("control", 1, []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if got := a.Says(x); got != says {
		t.Errorf("%s\ngot  %q\nwant %q", text, got, says)
	}
	_, r, err := a.DoReversibly(x)
	if err != nil {
		t.Fatal(text, err)
	}
	if r.Says != back || r.Action != action {
		t.Errorf("%s\ngot  %q, %s\nwant %q, %s", text, r.Says, r.Action, back, action)
	}
	return r
}

// What is taken back is as it was, on the line and in the plan: the same action says the
// same again.
func TestReversals(t *testing.T) {
	for _, c := range []struct{ text, says, back, action string }{
		{`{"mute":"PT-1"}`, "PT-1 is silent from now on", "PT-1 is heard again", `{"unmute":"PT-1"}`},
		{`{"unmute":"PT-1"}`, "PT-1 is heard again from now on", "PT-1 is heard again", `{"unmute":"PT-1"}`},
		{`{"move":"TT-3"}`, "TT-3 is the first on the wires from now on", "TT-3 hangs behind PT-1.A again", ""},
		{`{"move":"PT-1","behind":"TT-3"}`, "PT-1 hangs behind TT-3 from now on", "PT-1 is the first on the wires again", ""},
		{`{"set":"PT-1.polling","to":0}`, "polling of PT-1 is 0 from now on; until now 1", "polling of PT-1 is 1 again", `{"set":"PT-1.polling","to":1}`},
		{`{"set":"PT-1.damping_s","to":2}`, "damping_s of PT-1 is 2 from now on", "damping_s of PT-1 is as it was", ""},
		{`{"set":"PT-1.process.value","to":7}`, "process.value of PT-1 is 7 from now on; until now 5", "process.value of PT-1 is as it was", ""},
		{`{"set":"PT-1.A.process.value","to":7}`, `process.value of PT-1.A is 7 from now on; until now the process goes by the model "sine"`, "process.value of PT-1.A is as it was", ""},
		{`{"set":"line.supply_v","to":30}`, "supply_v of the line is 30 from now on", "supply_v of the line is as it was", ""},
		{`{"fault":{"kind":"noise"}}`, `"noise" strikes the line from now on`, `fault "noise" is gone again`, `{"remove":"noise"}`},
	} {
		d := parse(t, bench)
		a := assemble(t, d, nil)
		a.Line.Run(sim.Second)
		r := reversibly(t, d, a, c.text, c.says, c.back, c.action)
		a.Line.Run(2 * sim.Second)
		if err := r.Do(); err != nil {
			t.Errorf("%s: %v", c.text, err)
		}
		a.Line.Run(3 * sim.Second)
		reversibly(t, d, a, c.text, c.says, c.back, c.action)
	}
}

// What was moved in between stays where it was moved to.
func TestMovedInBetween(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	r := reversibly(t, d, a, `{"move":"TT-3"}`, "TT-3 is the first on the wires from now on", "TT-3 hangs behind PT-1.A again", "")
	did(t, d, a, `{"move":"PT-1.A"}`, "PT-1.A is the first on the wires from now on")
	if err := r.Do(); err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(a.Order(), " "); got != "PT-1.A TT-3 PT-1" {
		t.Errorf("got %s, want TT-3 behind PT-1.A, which is the first", got)
	}
}

// A fault that was taken away is there again with all that it was told.
func TestFaultIsThereAgain(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	did(t, d, a, `{"fault":{"kind":"no reply","device":"PT-1","name":"mouse"}}`, `"no reply" strikes PT-1 from now on, by the name "mouse"`)
	r := reversibly(t, d, a, `{"remove":"mouse"}`, `fault "mouse" is gone from now on`, `fault "mouse" is there again`, "")
	if got := who(t, a); got != "PT-1 PT-1.A TT-3" {
		t.Errorf("removed: got %s", got)
	}
	if err := r.Do(); err != nil {
		t.Fatal(err)
	}
	if got := who(t, a); got != "PT-1.A TT-3" {
		t.Errorf("there again: got %s", got)
	}
}

// What would be refused is refused before it is done, and changes nothing.
func TestForesee(t *testing.T) {
	d := parse(t, bench)
	a := assemble(t, d, nil)
	for _, text := range []string{`{"set":"PT-1.polling","to":2}`, `{"remove":"noise"}`, `{"set":"PT-1.range","to":{"lower":0,"upper":99}}`} {
		x, err := d.ReadAction("control", 1, []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		foreseen := a.Foresee(x)
		if _, _, err := a.DoReversibly(x); err == nil || foreseen == nil || err.Error() != foreseen.Error() {
			t.Errorf("%s: foreseen %v, done %v", text, foreseen, err)
		}
	}
}
