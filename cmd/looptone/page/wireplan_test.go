package page

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// On whatever line, every device and every cable has a place of its own in the picture,
// inside it, and no riser goes through one.
func TestWirePlan(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		leaveOut(t, err)
	}
	plan, err := os.ReadFile("web/wireplan.js")
	if err != nil {
		t.Fatal(err)
	}
	check, err := os.ReadFile("testdata/wireplan.js")
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(node, "-")
	run.Stdin = strings.NewReader(string(plan) + string(check))
	out, err := run.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if got, want := string(out), "2000 plans\n"; got != want {
		t.Errorf("got %s want %s", got, want)
	}
}
