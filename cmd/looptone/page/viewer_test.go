package page

import (
	"io"
	"net/http"
	"os"
	"strconv"
)

// viewersAt and viewersOf tell the test's own program to be browsers that look on at an
// address, so many: what they take is no part of what the server takes.
const (
	viewersAt = "LOOPTONE_TEST_VIEWERS_AT"
	viewersOf = "LOOPTONE_TEST_VIEWERS"
)

// lookOn looks on until the page ends, and reports whether it was told to.
func lookOn() bool {
	at := os.Getenv(viewersAt)
	if at == "" {
		return false
	}
	n, err := strconv.Atoi(os.Getenv(viewersOf))
	if err != nil {
		panic(err)
	}
	gone := make(chan error)
	for range n {
		go func() {
			r, err := http.Get("http://" + at + "/events")
			if err == nil {
				_, err = io.Copy(io.Discard, r.Body)
			}
			gone <- err
		}()
	}
	for range n {
		<-gone
	}
	return true
}
