package payload

import (
	"fmt"
	"slices"
	"strings"

	"looptone/frame"
	"looptone/frame/near"
)

// act are commands that write and set nothing: they trim, test, reset, hold or
// simulate. Nobody means them who only names what is to be set.
var act = []uint16{39, 40, 41, 42, 43, 45, 46, 52, 66, 67, 68, 72, 79, 82, 83, 106, 109}

// choosing are fields that say what a command is about, and are not set by it.
var choosing = []string{"device variable code", "analog channel", "burst message"}

// Setter finds the command that writes the fields that are given, for a device of
// type t in revision rev: of those that set something and know all of the words'
// names, the one with the fewest fields beside them, the first of several.
func (b *Book) Setter(t DeviceType, rev uint8, words []string) (*Definition, error) {
	var names []string
	for _, word := range words {
		name, _, _ := strings.Cut(word, "=")
		names = append(names, plain(name))
	}
	if !slices.ContainsFunc(names, func(name string) bool { return !slices.Contains(choosing, name) }) {
		return nil, fmt.Errorf("%s only says what a command is about: name what is to be set", enumerate(names))
	}
	var found *Definition
	least := 0
	for _, d := range b.ofDevice(t) {
		l := d.settable(rev)
		if l == nil || !l.knows(names) {
			continue
		}
		if n := len(l.fields()); found == nil || n < least {
			found, least = d, n
		}
	}
	if found == nil {
		return nil, b.noSetter(t, rev, names)
	}
	return found, nil
}

// settable is the layout of what a command sets in revision rev; nil where it sets
// nothing, or not a fixed number of things.
func (d *Definition) settable(rev uint8) *Layout {
	l, err := d.Layout(frame.STX, rev)
	if err != nil || !d.Write || len(l.Group) > 0 || slices.Contains(act, d.Command) {
		return nil
	}
	return l
}

// ofDevice are the definitions that count for a device of type t.
func (b *Book) ofDevice(t DeviceType) (list []*Definition) {
	for _, e := range b.All() {
		if d, _ := b.Lookup(e.Command, t); d == e.Definition {
			list = append(list, d)
		}
	}
	return list
}

// fields are those of the layout, a slot counted once.
func (l *Layout) fields() []Field { return slices.Concat(l.Head, l.Group, l.Tail) }

// knows reports whether the layout has fields of all these names.
func (l *Layout) knows(names []string) bool {
	for _, name := range names {
		if f, _ := l.named(name); f == nil {
			return false
		}
	}
	return true
}

// noSetter says why no command sets all of that.
func (b *Book) noSetter(t DeviceType, rev uint8, names []string) error {
	var all []string
	for _, d := range b.ofDevice(t) {
		if l := d.settable(rev); l != nil {
			for _, f := range l.fields() {
				all = append(all, plain(f.Name))
			}
		}
	}
	for _, name := range names {
		if slices.Contains(all, name) {
			continue
		}
		typed := strings.ReplaceAll(name, " ", "_")
		if d := b.acting(t, rev, name); d != nil {
			return fmt.Errorf("%s belongs to command %d (%s), which has to be meant: give --command %d", typed, d.Command, d.Name, d.Command)
		}
		if instead := near.Name(name, all); instead != "" {
			return fmt.Errorf("%w: got %q, did you mean %s?", ErrNoField, typed, strings.ReplaceAll(instead, " ", "_"))
		}
		return fmt.Errorf("%w that can be set: got %q", ErrNoField, typed)
	}
	return fmt.Errorf("no command writes %s together: set them one by one", enumerate(names))
}

// acting is the first command that has a field of that name and sets nothing.
func (b *Book) acting(t DeviceType, rev uint8, name string) *Definition {
	for _, d := range b.ofDevice(t) {
		l, err := d.Layout(frame.STX, rev)
		if err == nil && slices.Contains(act, d.Command) && l.knows([]string{name}) {
			return d
		}
	}
	return nil
}

// Teller finds the first command that needs no data and whose reply, in revision
// rev, has all of these fields.
func (b *Book) Teller(t DeviceType, rev uint8, names []string) (*Definition, bool) {
	for _, d := range b.ofDevice(t) {
		request, err := d.Layout(frame.STX, rev)
		if d.Write || err != nil || request.MinLen() > 0 {
			continue
		}
		if reply, err := d.Layout(frame.ACK, rev); err == nil && reply.knows(names) {
			return d, true
		}
	}
	return nil, false
}
