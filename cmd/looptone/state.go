package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"looptone/frame"
	"looptone/sim/device"
	"looptone/sim/linefile"
	"looptone/sim/statefile"
)

// stateFlags say where devices keep what they remember.
type stateFlags struct {
	file   string
	forget []string // tags and unique addresses
}

func (s *stateFlags) add(cmd *cobra.Command) {
	f := cmd.Flags()
	f.StringVar(&s.file, "state", "", "keep what is written to the devices, and their totals, in `FILE`")
	f.StringArrayVar(&s.forget, "forget", nil, "first remove what --state keeps of `DEVICE`, a tag or unique address (repeatable)")
}

func (s *stateFlags) check(cmd *cobra.Command) error {
	if len(s.forget) > 0 && s.file == "" {
		return errors.New("--forget goes with --state")
	}
	if slices.Contains(s.forget, "") {
		return errors.New("--forget is empty")
	}
	return checkNotEmpty(cmd, "state")
}

// open opens the state file, if one is wanted, forgets what is to be forgotten,
// and names on stderr whom it keeps that is not on the line. In line time the line
// waits for the disk, in real time it must not.
func (s *stateFlags) open(d *linefile.Description, fast bool, stderr io.Writer) (*keeping, error) {
	if s.file == "" {
		return nil, nil
	}
	file, err := statefile.Open(s.file)
	if err != nil {
		return nil, err
	}
	if err := s.prepare(file, d, stderr); err != nil {
		file.Close()
		return nil, err
	}
	if fast {
		return &keeping{file, file.Waiting()}, nil
	}
	return &keeping{file, file}, nil
}

func (s *stateFlags) prepare(file *statefile.File, d *linefile.Description, stderr io.Writer) error {
	tags := map[frame.Address]string{} // on the line
	for i := range d.Devices {
		tags[d.Devices[i].Unique()] = d.Devices[i].Tag
	}
	kept := file.Devices()
	gone, err := s.forgotten(kept, tags)
	if err != nil {
		return err
	}
	for _, e := range kept {
		if gone[e.Address] {
			if err := file.Forget(e.Address); err != nil {
				return err
			}
		} else if _, there := tags[e.Address]; !there {
			fmt.Fprintf(stderr, "%s keeps %s, which is not on the line\n", s.file, entryName(e, tags))
		}
	}
	return nil
}

// A keeping is the state file of a line that runs; nil without one.
type keeping struct {
	file  *statefile.File
	store device.Store
}

// state is what the line's devices begin with.
func (k *keeping) state() *linefile.State {
	if k == nil {
		return nil
	}
	return &linefile.State{Load: k.file.Load, Store: k.store}
}

// end keeps the totals at the end of a line and closes the file.
func (k *keeping) end(a *linefile.Assembly) error {
	if k == nil {
		return nil
	}
	var last []device.Saving
	if a != nil {
		for _, d := range a.Devices {
			if d.Config().Transmitter.Totaliser != nil {
				last = append(last, d.Flush(a.Line.Now()))
			}
		}
	}
	errs := []error{k.file.Close()}
	for _, saving := range last {
		_, err := saving.Done()
		errs = append(errs, err)
	}
	return cmp.Or(errs...)
}

// forgotten are the devices that --forget names. Somebody who is named wrong keeps
// all of them.
func (s *stateFlags) forgotten(kept []statefile.Entry, tags map[frame.Address]string) (map[frame.Address]bool, error) {
	gone := map[frame.Address]bool{}
	for _, name := range s.forget {
		var meant []string
		for _, e := range kept {
			if strings.EqualFold(name, e.Address.String()) || name == e.Tag || name == tags[e.Address] {
				gone[e.Address] = true
				meant = append(meant, entryName(e, tags))
			}
		}
		switch {
		case len(meant) == 0:
			return nil, fmt.Errorf("%s keeps no device %q, it has %s", s.file, name, entryNames(kept, tags))
		case len(meant) > 1:
			return nil, fmt.Errorf("%s keeps more than one device %q, want a unique address: %s", s.file, name, strings.Join(meant, ", "))
		}
	}
	return gone, nil
}

// entryName is a device by its unique address and, where it is known, its tag: the
// one that was written to it, else the one on the line.
func entryName(e statefile.Entry, tags map[frame.Address]string) string {
	tag := e.Tag
	if tag == "" {
		tag = tags[e.Address]
	}
	if tag == "" {
		return e.Address.String()
	}
	return fmt.Sprintf("%v (%s)", e.Address, tag)
}

func entryNames(kept []statefile.Entry, tags map[frame.Address]string) string {
	if len(kept) == 0 {
		return "none"
	}
	names := make([]string, len(kept))
	for i, e := range kept {
		names[i] = entryName(e, tags)
	}
	return strings.Join(names, ", ")
}
