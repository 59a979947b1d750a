package payload

import (
	"cmp"
	"slices"

	"looptone/frame/unit"
)

// definitions are all commands, in the order of their numbers.
var definitions = func() []*Definition {
	var all []*Definition
	for _, part := range [...][]Definition{
		identity, tag, variables, configuration, ranging, trim, deviceVariable, analogChannel,
		burst, maintenance, clock, named,
	} {
		for i := range part {
			all = append(all, &part[i])
		}
	}
	slices.SortFunc(all, byNumber)
	return all
}()

func byNumber(a, b *Definition) int { return cmp.Compare(a.Command, b.Command) }

// Lookup finds the definition of a command.
func Lookup(number uint16) (*Definition, bool) {
	i, ok := slices.BinarySearchFunc(definitions, number,
		func(d *Definition, n uint16) int { return cmp.Compare(d.Command, n) })
	if !ok {
		return nil, false
	}
	return definitions[i], true
}

// All lists the definitions in the order of their numbers.
func All() []*Definition { return slices.Clone(definitions) }

// The revisions of the universal commands that devices in use follow.
var (
	anyRevision = Revisions{5, 7}
	revision5   = Revisions{5, 5}
	revision6   = Revisions{6, 6}
	revision7   = Revisions{7, 7}
	upTo6       = Revisions{5, 6}
	from6       = Revisions{6, 7}
)

// always is a layout whose fields must all be there.
func always(r Revisions, fields ...Field) Layout {
	return Layout{For: r, Head: fields, Need: len(fields)}
}

// one is a direction that is the same in all revisions.
func one(fields ...Field) []Layout { return []Layout{always(anyRevision, fields...)} }

func unsigned(name string, size int) Field { return Field{Name: name, Type: Unsigned, Size: size} }
func raw(name string, size int) Field      { return Field{Name: name, Type: Bytes, Size: size} }
func packed(name string, size int) Field   { return Field{Name: name, Type: PackedASCII, Size: size} }
func date(name string) Field               { return Field{Name: name, Type: Date, Size: 3} }
func unitCode(name string) Field           { return Field{Name: name, Type: UnitCode, Size: 1} }

func enumeration(name, table string) Field {
	return Field{Name: name, Type: Enumeration, Size: 1, Table: table}
}

// classedUnit is a unit that depends on the classification in another field.
func classedUnit(name, class string) Field {
	return Field{Name: name, Type: UnitCode, Size: 1, Class: class}
}

// duration is a time span; a time of day is one since midnight.
func duration(name string) Field {
	return Field{Name: name, Type: Time, Size: 4, Unit: unit.Second}
}

func flags(name, table string) Field {
	return Field{Name: name, Type: Flags, Size: 1, Table: table}
}

// float is a value whose unit stands in another field.
func float(name, unitField string) Field {
	return Field{Name: name, Type: Float, Size: 4, UnitField: unitField}
}

// floatIn is a value with a fixed unit.
func floatIn(name string, u unit.Code) Field {
	return Field{Name: name, Type: Float, Size: 4, Unit: u}
}
