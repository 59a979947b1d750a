package payload

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"looptone/frame"
)

// Why a book refuses a definition.
var (
	ErrUniversal = errors.New("is universal and defined by the standard")
	ErrTwice     = errors.New("is defined already")
)

// A DeviceType says for which devices a definition holds: for those of an
// expanded device type, or of a maker's code and a device type, maker in the high
// byte. Of its 16 bits the low 14 count, since a unique address has no more.
type DeviceType int32

// AnyDevice stands for devices whose own type has no definition of a command, and
// for those whose type is not known.
const AnyDevice DeviceType = -1

// typeBits are those that a unique address has.
const typeBits = 1<<14 - 1

// DeviceTypeOf is the type of the device with that address: [AnyDevice] for a
// polling address, which does not tell it, and for all devices together.
func DeviceTypeOf(a frame.Address) DeviceType {
	if _, short := a.IsPolling(); short || a.IsBroadcast() {
		return AnyDevice
	}
	return DeviceType(a.DeviceType())
}

// String is for instance "device type f903", or "any device".
func (t DeviceType) String() string {
	if t < 0 {
		return "any device"
	}
	return fmt.Sprintf("device type %04x", uint16(t))
}

// Same reports whether no address can tell t and u apart.
func (t DeviceType) Same(u DeviceType) bool { return keyOf(t, 0) == keyOf(u, 0) }

// A Book is the definitions by which a conversation is read: the built-in ones,
// and those of a user on top. A nil Book, and the zero Book, have the built-in
// ones only. Lookups may run at once, but not beside Add.
type Book struct {
	users   map[key]*Definition
	entries []Entry // of users, in the order in which they came
}

// key is a command of a type, or of any device.
type key struct {
	deviceType DeviceType // 14 bits, or AnyDevice
	number     uint16
}

func keyOf(t DeviceType, number uint16) key {
	if t < 0 {
		return key{AnyDevice, number}
	}
	return key{t & typeBits, number}
}

// An Entry is a definition in a book.
type Entry struct {
	*Definition
	DeviceType DeviceType
	User       bool // it is not built in
}

// Add takes in a definition of a user, which stays the caller's to keep as it is.
// The error wraps [ErrUniversal], [ErrTwice] or [ErrDefinition].
func (b *Book) Add(t DeviceType, d *Definition) error {
	if err := d.Check(); err != nil {
		return err
	}
	k := keyOf(t, d.Command)
	if universal(d.Command) {
		return fmt.Errorf("command %d %w: want another number, for instance 128 to 253", d.Command, ErrUniversal)
	}
	if before := b.users[k]; before != nil {
		return fmt.Errorf("command %d of %v %w, as %q: want one definition", d.Command, t, ErrTwice, before.Name)
	}
	if b.users == nil {
		b.users = map[key]*Definition{}
	}
	b.users[k] = d
	b.entries = append(b.entries, Entry{d, t, true})
	return nil
}

// universal reports whether the standard gives a command one meaning for all
// devices. 31 announces an extended number.
//
// Source: Buerkert, Type 8605 description of communication, p.13 (0 to 31);
// Allen-Bradley 1756-UM533C p.199 (38 and 48).
func universal(number uint16) bool { return number <= 31 || number == 38 || number == 48 }

// Lookup finds the definition of a command for a device of type t: the user's for
// that type, else the user's for any device, else the built-in one. It does not
// allocate.
func (b *Book) Lookup(number uint16, t DeviceType) (*Definition, bool) {
	if b != nil {
		if d := b.users[keyOf(t, number)]; d != nil {
			return d, true
		}
		if d := b.users[keyOf(AnyDevice, number)]; d != nil {
			return d, true
		}
	}
	return Lookup(number)
}

// Writes reports whether a command changes something in a device of type t. One
// that nothing is known of may, so it counts as one that does.
func (b *Book) Writes(number uint16, t DeviceType) bool {
	d, ok := b.Lookup(number, t)
	return !ok || d.Write
}

// All lists the definitions in the order of their numbers; of one number the
// built-in one first, then a user's for any device, then those by device type.
func (b *Book) All() []Entry {
	var all []Entry
	for _, d := range definitions {
		all = append(all, Entry{d, AnyDevice, false})
	}
	if b != nil {
		all = append(all, b.entries...)
	}
	slices.SortStableFunc(all, func(x, y Entry) int {
		switch {
		case x.Command != y.Command:
			return cmp.Compare(x.Command, y.Command)
		case x.User != y.User:
			return cmp.Compare(rank(x), rank(y))
		}
		return cmp.Compare(x.DeviceType, y.DeviceType)
	})
	return all
}

func rank(e Entry) int {
	if e.User {
		return 1
	}
	return 0
}
