// Package unit names the engineering unit codes of the HART standard, sorts
// them by quantity and converts between them.
package unit

import "fmt"

// Code is an engineering unit as one byte.
type Code uint8

// The codes that command definitions name.
const (
	DegreeCelsius Code = 32
	Milliampere   Code = 39
	Second        Code = 51
	Percent       Code = 57
	NotUsed       Code = 250 // the value is not used
)

// Class is the classification of a device variable, on which the meaning of the
// codes 170 to 219 depends. 0 is not classified.
type Class uint8

// row is what one code means. The conversion runs through a base unit of the
// quantity: base = (v - zero) * mul / div; no conversion where div is 0.
type row struct {
	symbol   string
	quantity Quantity
	mul, div float64
	zero     float64 // what this unit reads where the base unit reads 0
}

// String is the unit's symbol, or "unit 189" where the code has none, or none
// without a class.
func (c Code) String() string { return c.Symbol(0) }

// Symbol is the unit's symbol for a variable of the given class, or "unit 189"
// where the code has none under that class.
func (c Code) Symbol(class Class) string {
	if s := c.symbol(class); s != "" {
		return s
	}
	return unnamed[c]
}

// unnamed are the symbols of codes that have none, made once so that a symbol
// costs no allocation.
var unnamed = func() (symbols [256]string) {
	for i := range symbols {
		symbols[i] = fmt.Sprintf("unit %d", i)
	}
	return symbols
}()

func (c Code) symbol(class Class) string {
	if !c.NeedsClass() {
		return table[c].symbol
	}
	for i := range expanded {
		if e := &expanded[i]; e.Code == c && e.Class == class {
			return e.Symbol
		}
	}
	return ""
}

// Known reports whether the code has a meaning without a class.
func (c Code) Known() bool { return table[c].symbol != "" }

// Quantity is what the unit measures; None where that is unknown, or unknown
// without a class.
func (c Code) Quantity() Quantity { return table[c].quantity }

// NeedsClass reports whether the code has a meaning only together with the
// classification of the variable.
//
// Source: FieldComm Group support article 8000091234.
func (c Code) NeedsClass() bool { return c >= 170 && c <= 219 }

// FromMemory reports whether the code's meaning without a class has no document
// behind it.
func (c Code) FromMemory() bool {
	for _, r := range fromMemory {
		if c >= r[0] && c <= r[1] {
			return true
		}
	}
	return false
}

// Codes lists the codes that have a meaning without a class, in order.
func Codes() []Code { return list(func(*row) bool { return true }) }

// OfQuantity lists the codes of a quantity, in order.
func OfQuantity(q Quantity) []Code { return list(func(r *row) bool { return r.quantity == q }) }

func list(want func(*row) bool) (codes []Code) {
	for i := range table {
		if r := &table[i]; r.symbol != "" && want(r) {
			codes = append(codes, Code(i))
		}
	}
	return codes
}
