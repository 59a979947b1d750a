package main

import (
	"os"
	"path/filepath"

	"looptone/sim/linefile"
)

// describe reads the description of a line from a file, or is that of the
// demonstration line. The name says which it is.
func describe(file string) (d *linefile.Description, name string, err error) {
	if file == "" {
		d = linefile.Demonstration()
		return d, d.Name + ", the simulated demonstration line", nil
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, "", err
	}
	d, err = linefile.Parse(file, text, besideOf(file))
	if err != nil {
		return nil, "", err
	}
	return d, d.Name + ", simulated as " + file + " describes", nil
}

// assemble makes a line that is described; a nil seed leaves it the description's.
func assemble(file string, seed *uint64) (a *linefile.Assembly, name string, err error) {
	d, name, err := describe(file)
	if err != nil {
		return nil, "", err
	}
	a, err = d.Assemble(seed, nil)
	return a, name, err
}

// besideOf reads what a line file names, from the folder that it is in.
func besideOf(line string) linefile.Read {
	return func(name string) ([]byte, error) {
		if !filepath.IsAbs(name) {
			name = filepath.Join(filepath.Dir(line), name)
		}
		return os.ReadFile(name)
	}
}
