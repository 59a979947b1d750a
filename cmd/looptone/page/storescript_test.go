package page

import (
	"os"
	"os/exec"
	"strings"
	"testing"
)

// What is told of a message or a carrier once more stands where it was told first.
func TestStoreScript(t *testing.T) {
	node, err := exec.LookPath("node")
	if err != nil {
		leaveOut(t, err)
	}
	check, err := os.ReadFile("testdata/store.js")
	if err != nil {
		t.Fatal(err)
	}
	const browser = "const location = { hash: '' }, sessionStorage = { getItem() {} };\n"
	all := scripts(t)
	run := exec.Command(node, "-")
	run.Stdin = strings.NewReader(browser + all["drawing/time.js"] + all["drawing/spoken.js"] + all["store.js"] + string(check))
	out, err := run.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if len(out) > 0 {
		t.Errorf("%s", out)
	}
}
