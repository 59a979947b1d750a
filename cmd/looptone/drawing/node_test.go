package drawing

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// nodeBytes runs a script behind the scripts that need no browser, and is what it writes.
func nodeBytes(t *testing.T, script string) []byte {
	t.Helper()
	node, err := exec.LookPath("node")
	if err != nil {
		leaveOut(t, err)
	}
	var text strings.Builder
	text.WriteString(joined("time.js", "spoken.js", "tones.js"))
	text.WriteString("const answer = (what) => process.stdout.write(JSON.stringify(what));\n{")
	text.WriteString(script)
	text.WriteString("}\n")
	cmd := exec.CommandContext(t.Context(), node, "-")
	cmd.Stdin = strings.NewReader(text.String())
	var complaint bytes.Buffer
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("node: %v\n%s", err, complaint.Bytes())
	}
	return out
}

// node is nodeBytes for a script that calls answer.
func node(t *testing.T, script string, answer any) {
	t.Helper()
	if err := json.Unmarshal(nodeBytes(t, script), answer); err != nil {
		t.Fatal(err)
	}
}

// array is a list of numbers as a script has it.
func array(chars []byte) string {
	numbers := make([]int, len(chars))
	for i, c := range chars {
		numbers[i] = int(c)
	}
	text, err := json.Marshal(numbers)
	if err != nil {
		panic(err)
	}
	return string(text)
}

// leaveOut leaves a test out that cannot be run here for want of something; in CI
// everything is there, and a test that is missing fails.
func leaveOut(t *testing.T, why error) {
	t.Helper()
	if ci := os.Getenv("CI"); ci == "1" || ci == "true" {
		t.Fatal(why)
	}
	t.Skip(why)
}
