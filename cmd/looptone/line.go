package main

import (
	"os"

	"looptone/sim/linefile"
)

// assemble makes the line that a file describes, or the demonstration line; a
// nil seed leaves it the file's. The name says which it is.
func assemble(file string, seed *uint64) (a *linefile.Assembly, name string, err error) {
	if file == "" {
		a, err = linefile.Demonstration().Assemble(seed)
		if err != nil {
			return nil, "", err
		}
		return a, a.Name + ", the simulated demonstration line", nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, "", err
	}
	d, err := linefile.Parse(file, text)
	if err != nil {
		return nil, "", err
	}
	a, err = d.Assemble(seed)
	if err != nil {
		return nil, "", err
	}
	return a, a.Name + ", simulated as " + file + " describes", nil
}
