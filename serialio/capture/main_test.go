package capture

import (
	"encoding/hex"
	"errors"
	"io"
	"os"
	"strings"
	"testing"

	"looptone/frame"
)

// result is everything that a capture yields.
type result struct {
	what   string
	chars  []byte
	marks  []frame.MarkAt
	places []Position
	err    error // nil at the end of the input
}

func readAll(r io.Reader, as string) (res result) {
	rd, what, err := Open(r, "trace.txt", as)
	if err != nil {
		return result{err: err}
	}
	res.what = what
	for rec := new(Record); ; {
		if err := rd.Next(rec); err != nil {
			if again := rd.Next(rec); again != err {
				err = errors.Join(errors.New("another error when called again"), again)
			}
			if err != io.EOF {
				res.err = err
			}
			return res
		}
		res.chars = append(res.chars, rec.Chars...)
		res.marks = append(res.marks, rec.Marks...)
		for i := range rec.Chars {
			res.places = append(res.places, rec.Place.Of(i))
		}
	}
}

func readText(s, as string) result { return readAll(strings.NewReader(s), as) }

func mustHex(t *testing.T, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// leaveOut leaves a test out that cannot be run here for want of something; in CI
// nothing is.
func leaveOut(t *testing.T, why error) {
	t.Helper()
	if ci := os.Getenv("CI"); ci == "1" || ci == "true" {
		t.Fatal(why)
	}
	t.Skip(why)
}
