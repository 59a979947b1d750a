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
		return &keeping{s.file, file, file.Waiting()}, nil
	}
	return &keeping{s.file, file, file}, nil
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
			continue
		}
		m, _, _ := file.Load(e.Address) // who cannot be read is refused when the line is assembled
		switch tag, there := tags[e.Address]; {
		case !there:
			fmt.Fprintf(stderr, "%s keeps %s, which is not on the line\n", s.file, entryName(e, tags))
		case m.Tag == nil && m.KnownAs != "" && m.KnownAs != tag:
			fmt.Fprintf(stderr, "%s keeps %v as %s, on this line it is %s: give each device a device_id of its own\n",
				s.file, e.Address, m.KnownAs, tag)
		}
	}
	return nil
}

// A keeping is the state file of a line that runs; nil without one.
type keeping struct {
	name  string
	file  *statefile.File
	store device.Store
}

// assemble puts the devices on the line, with what they remember. Who has written
// one device onto another's address is told.
func (k *keeping) assemble(d *linefile.Description, seed *uint64, stderr io.Writer) (*linefile.Assembly, error) {
	if k == nil {
		return d.Assemble(seed, nil)
	}
	a, err := d.Assemble(seed, &linefile.State{Load: k.file.Load, Store: loud{k.store, &mishaps{stderr: stderr}}})
	if err != nil {
		return nil, fmt.Errorf("%w; %s keeps it, and --forget gives the device its factory values back", err, k.name)
	}
	at := map[uint8]*device.Device{}
	for _, dev := range a.Devices {
		other := at[dev.Polling()]
		if other != nil && other.Config().Polling != dev.Config().Polling {
			fmt.Fprintf(stderr, "%s and %s share polling address %d, as it was written over the line\n",
				other.Config().Tag, dev.Config().Tag, dev.Polling())
		}
		at[dev.Polling()] = dev
	}
	return a, nil
}

// loud is a store that says the first time that something cannot be kept.
type loud struct {
	device.Store
	mishaps *mishaps
}

func (l loud) Save(a frame.Address, m device.Memory) device.Saving {
	return &heard{l.Store.Save(a, m), m.KnownAs, l.mishaps}
}

// heard is a saving whose failure is told.
type heard struct {
	device.Saving
	tag     string
	mishaps *mishaps
}

func (h *heard) Done() (bool, error) {
	done, err := h.Saving.Done()
	if err != nil {
		h.mishaps.failure(h.tag, err)
	}
	return done, err
}

// mishaps says once what goes wrong with a state file.
type mishaps struct {
	stderr io.Writer
	said   bool
}

func (r *mishaps) failure(tag string, err error) {
	if !r.said {
		r.said = true
		fmt.Fprintf(r.stderr, "what %s must remember cannot be kept: %v\n", tag, err)
	}
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
// one that it had last, else the one on the line.
func entryName(e statefile.Entry, tags map[frame.Address]string) string {
	tag := cmp.Or(e.Tag, tags[e.Address])
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
