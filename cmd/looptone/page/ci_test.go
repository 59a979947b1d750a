package page

import (
	"os"
	"testing"
)

// leaveOut leaves a test out that cannot be run here for want of something; in CI
// nothing is.
func leaveOut(t *testing.T, why error) {
	t.Helper()
	if ci := os.Getenv("CI"); ci == "1" || ci == "true" {
		t.Fatal(why)
	}
	t.Skip(why)
}
