package linefile_test

import (
	"fmt"
	"slices"
	"testing"

	"looptone/sim"
)

// tree is a trunk with two branches, one of which goes on; T-1 is at the source end,
// T-2 at the trunk, T-3 and T-4 at the first branch, T-5 at the second, T-6 behind it.
func tree() string {
	text := "[line]\nname = \"Tree\"\n"
	for _, c := range [][2]string{{"trunk", ""}, {"left", "trunk"}, {"right", "trunk"}, {"far", "right"}} {
		text += fmt.Sprintf("[[line.cable]]\nname = %q\nbehind = %q\nlength_m = 100\nawg = 18\nnf_per_km = 100\n", c[0], c[1])
	}
	for i, behind := range []string{"", "trunk", "left", "left", "right", "far"} {
		text += deviceText(i+1, fmt.Sprintf("behind = %q\nlift_off_v = 10.5", behind))
	}
	return text
}

func TestLineCutGoesByTheCables(t *testing.T) {
	for _, c := range []struct {
		behind string
		want   []int
	}{
		{`, "behind": "T-1"`, []int{1}},
		{`, "behind": "T-2"`, []int{1, 2}},
		{`, "behind": "T-3"`, []int{1, 2, 3, 5, 6}},
		{`, "behind": "T-4"`, []int{1, 2, 3, 4, 5, 6}},
		{`, "behind": "T-5"`, []int{1, 2, 3, 4, 5}},
		{"", nil},
	} {
		d := parse(t, tree())
		a := assemble(t, d, nil)
		reports := reported(a)
		if _, err := do(t, d, a, `{"fault": {"kind": "line cut"`+c.behind+`}}`); err != nil {
			t.Fatal(err)
		}
		if got := answering(t, a, 6); !slices.Equal(got, c.want) {
			t.Errorf("cut%s: %v answer, want %v", c.behind, got, c.want)
		}
		wantReports(t, reports)
	}
}

// T-6 is moved to where T-3 hangs, right behind it, then T-5 to the beginning.
func TestMoveGoesByTheCables(t *testing.T) {
	d := parse(t, tree())
	a := assemble(t, d, nil)
	did(t, d, a, `{"move": "T-6", "behind": "T-3"}`, "T-6 hangs behind T-3 from now on")
	did(t, d, a, `{"fault": {"kind": "line cut", "behind": "T-6"}}`, `"line cut" strikes the line from now on`)
	if got := answering(t, a, 6); !slices.Equal(got, []int{1, 2, 3, 5, 6}) {
		t.Errorf("cut behind T-6: %v answer, want all but T-4", got)
	}
	did(t, d, a, `{"move": "T-5"}`, "T-5 is the first on the wires from now on")
	did(t, d, a, `{"fault": {"kind": "line cut", "behind": "T-5", "name": "second"}}`, `"line cut" strikes the line from now on, by the name "second"`)
	a.Line.Run(a.Line.Now() + 2*sim.Second)
	if got := answering(t, a, 6); !slices.Equal(got, []int{5}) {
		t.Errorf("cut behind T-5: %v answer, want T-5", got)
	}
	did(t, d, a, `{"set": "T-6.lift_off_v", "to": 11}`, "lift_off_v of T-6 is 11 from now on") // it stays where it was moved to
	did(t, d, a, `{"remove": "second"}`, `fault "second" is gone from now on`)
	a.Line.Run(a.Line.Now() + 2*sim.Second)
	if got := answering(t, a, 6); !slices.Equal(got, []int{1, 2, 3, 5, 6}) {
		t.Errorf("cut behind T-6: %v answer, want all but T-4", got)
	}
}

// What will be moved is not moved yet.
func TestMoveThatIsToCome(t *testing.T) {
	d := parse(t, tree())
	a := assemble(t, d, nil)
	did(t, d, a, `{"time": 1000, "move": "T-4", "behind": "T-1"}`, "T-4 hangs behind T-1 from 1000 s on")
	did(t, d, a, `{"fault": {"kind": "line cut", "behind": "T-3"}}`, `"line cut" strikes the line from now on`)
	if got := answering(t, a, 6); !slices.Equal(got, []int{1, 2, 3, 5, 6}) {
		t.Errorf("cut behind T-3: %v answer, want all but T-4", got)
	}
}
