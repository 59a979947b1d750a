package main

import (
	"fmt"
	"strconv"

	"github.com/spf13/cobra"
)

// seedFlag is --seed: every random choice derives from it. nil leaves it to the
// line's description.
type seedFlag struct{ value *uint64 }

func (s *seedFlag) add(cmd *cobra.Command) {
	cmd.Flags().Var(s, "seed", "number that every random choice derives from")
}

func (s *seedFlag) String() string {
	if s.value == nil {
		return ""
	}
	return fmt.Sprint(*s.value)
}

func (s *seedFlag) Type() string { return "N" }

func (s *seedFlag) Set(text string) error {
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		return fmt.Errorf("%q is no whole number from 0 on", text)
	}
	s.value = &n
	return nil
}
