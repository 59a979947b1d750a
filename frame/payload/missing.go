package payload

import (
	"fmt"
	"slices"
)

// MissingError lists the fields of a layout for which there is no content. It
// wraps [ErrMissing].
type MissingError struct {
	Fields []string // all of them; those of the group come last, the first of a slot as "slot 0: …"
}

func (e *MissingError) Error() string {
	last := len(e.Fields) - 1
	if last == 0 {
		return e.Fields[0] + " is missing"
	}
	return enumerate(e.Fields[:last]) + " and " + e.Fields[last] + " are missing"
}

func (e *MissingError) Unwrap() error { return ErrMissing }

// missing lists what must be there and src has nothing for.
func (l *Layout) missing(src Source) *MissingError {
	fields := missingOf(l.Head[:l.given(src)], -1, src)
	fields = append(fields, missingOf(l.Tail, -1, src)...)
	return &MissingError{append(fields, l.missingInSlots(src)...)}
}

// missingInSlots tells slots together that follow each other and miss the same.
func (l *Layout) missingInSlots(src Source) (fields []string) {
	slots, _ := l.givenSlots(src) // too many are told once nothing is missing
	for slot := 0; slot < slots; {
		names := missingOf(l.Group, slot, src)
		next := slot + 1
		for next < slots && slices.Equal(names, missingOf(l.Group, next, src)) {
			next++
		}
		if len(names) > 0 {
			names[0] = slotsText(slot, next-1) + names[0]
		}
		fields = append(fields, names...)
		slot = next
	}
	return fields
}

func slotsText(first, last int) string {
	if first == last {
		return fmt.Sprintf("slot %d: ", first)
	}
	return fmt.Sprintf("slots %d to %d: ", first, last)
}

func missingOf(fields []Field, slot int, src Source) (names []string) {
	for i := range fields {
		if _, ok := src.Content(&fields[i], slot); !ok && !fields[i].counts(fields) {
			names = append(names, fields[i].Name)
		}
	}
	return names
}
