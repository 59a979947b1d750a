package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// sizeFlag is a number of bytes, within limits.
type sizeFlag struct {
	bytes       int64 // 0: not given
	least, most int64 // a most of 0 is no limit
}

// sizes are the units, the longest words first where one ends with another.
var sizes = []struct {
	word  string
	bytes int64
}{
	{"KiB", 1 << 10}, {"MiB", 1 << 20}, {"GiB", 1 << 30}, {"TiB", 1 << 40},
	{"kB", 1e3}, {"MB", 1e6}, {"GB", 1e9}, {"TB", 1e12}, {"B", 1}, {"", 1},
}

func (s *sizeFlag) Type() string { return "SIZE" }

func (s *sizeFlag) String() string {
	if s.bytes == 0 {
		return ""
	}
	return sizeText(s.bytes)
}

// sizeText writes a number of bytes in the largest unit of 1024 that divides it.
func sizeText(n int64) string {
	word, unit := "B", int64(1)
	for _, u := range sizes[:4] {
		if n%u.bytes == 0 {
			word, unit = u.word, u.bytes
		}
	}
	return strconv.FormatInt(n/unit, 10) + word
}

func (s *sizeFlag) Set(text string) error {
	n, ok := parseSize(text)
	switch {
	case !ok:
		return fmt.Errorf("%q is no size, want for instance 500kB, 64MiB or 2GiB", text)
	case n < s.least && s.most == 0:
		return fmt.Errorf("%s is out of range, want %s or more", text, sizeText(s.least))
	case n < s.least || s.most > 0 && n > s.most:
		return fmt.Errorf("%s is out of range, want %s to %s", text, sizeText(s.least), sizeText(s.most))
	}
	s.bytes = n
	return nil
}

func parseSize(text string) (n int64, ok bool) {
	for _, u := range sizes {
		digits, has := strings.CutSuffix(text, u.word)
		if !has {
			continue
		}
		n, err := strconv.ParseInt(digits, 10, 64)
		return n * u.bytes, err == nil && n >= 0 && n <= math.MaxInt64/u.bytes
	}
	return 0, false
}
