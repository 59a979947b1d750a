package payload

import (
	"errors"
	"fmt"
	"strings"

	"looptone/frame/unit"
)

// ErrQuantity tells that a unit is of another quantity than its variable.
var ErrQuantity = errors.New("is a unit of another quantity")

// checkQuantities refuses a unit that a variable of the class beside it cannot
// have.
func (l *Layout) checkQuantities(c Contents) error {
	for _, fields := range [...][]Field{l.Head, l.Group, l.Tail} {
		for i := range fields {
			f := &fields[i]
			if f.Type != UnitCode || f.Class == "" {
				continue
			}
			for slot := range min(len(c[f.Name]), len(c[f.Class])) {
				class, u := unit.Class(c[f.Class][slot].Number), unit.Code(c[f.Name][slot].Number)
				if !class.Measures(u) {
					return &FieldError{f.Name, slotOf(l, f, slot), fmt.Errorf("%w: got %v, want one of %s", ErrQuantity, u, unitsOf(class))}
				}
			}
		}
	}
	return nil
}

func slotOf(l *Layout, f *Field, slot int) int {
	if l.inGroup(f) {
		return slot
	}
	return -1
}

func unitsOf(class unit.Class) string {
	var symbols []string
	for _, u := range class.Units() {
		symbols = append(symbols, u.String())
	}
	return strings.Join(symbols, ", ")
}
