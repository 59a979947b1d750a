package page

import (
	"testing"

	"go.uber.org/goleak"
)

// TestMain wants every server, viewer and line of the tests to have ended.
func TestMain(m *testing.M) {
	if !lookOn() {
		goleak.VerifyTestMain(m)
	}
}
