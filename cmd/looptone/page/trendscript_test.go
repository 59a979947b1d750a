package page

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// Axes begin and end with round numbers, and of many points what is drawn reaches as far
// as they do.
func TestTrendScripts(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		leaveOut(t, err)
	}
	check, err := os.ReadFile("testdata/trend.js")
	if err != nil {
		t.Fatal(err)
	}
	all := scripts(t)
	run := exec.Command(node, "-")
	run.Stdin = strings.NewReader("const look = { on() {} };\n" + all["drawing/time.js"] + all["drawing/plot.js"] + all["drawing/trend.js"] + string(check))
	out, err := run.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if got, want := string(out), "2200 drawings\n"; got != want {
		t.Errorf("got %s want %s", got, want)
	}
}
