package view

import (
	"encoding/csv"
	"strconv"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// A Table writes the values of replies and bursts as CSV: one a row, or wide, one
// column a variable of a device.
type Table struct {
	wide    bool
	columns []string
	index   map[string]int // by the device's address and the variable
	row     []string
	began   bool
}

// NewTable is a table with the columns time, device, variable, value and unit.
// Times are seconds, where they are known.
func NewTable() *Table { return &Table{row: make([]string, 5)} }

// NewWideTable is a table with the time and one column a variable, in the order
// in which they come; Learn has to have seen them all.
func NewWideTable() *Table {
	return &Table{wide: true, index: map[string]int{}, columns: []string{"time"}}
}

// Learn takes over which variables a message has.
func (t *Table) Learn(m *exchange.Message) {
	for v := range measured(m) {
		key := keyOf(m, v)
		at, ok := t.index[key]
		if !ok {
			at = len(t.columns)
			t.index[key] = at
			t.columns = append(t.columns, "")
		}
		t.columns[at] = columnOf(m, v) // by what is known of the device last: it may tell its tag late
	}
}

// Write writes the values of a message.
func (t *Table) Write(w *csv.Writer, m *exchange.Message) {
	t.Head(w)
	if t.wide {
		t.writeWide(w, m)
		return
	}
	for v := range measured(m) {
		number, _ := v.AppendNumber(nil)
		t.row[0], t.row[1], t.row[2], t.row[3], t.row[4] = timeOf(m), nameOf(m), variable(v), string(number), v.UnitSymbol()
		w.Write(t.row)
	}
}

// Head writes the names of the columns, if they are not there yet.
func (t *Table) Head(w *csv.Writer) {
	if t.began {
		return
	}
	t.began = true
	if t.wide {
		t.row = make([]string, len(t.columns))
		w.Write(t.columns)
		return
	}
	w.Write([]string{"time", "device", "variable", "value", "unit"})
}

func (t *Table) writeWide(w *csv.Writer, m *exchange.Message) {
	clear(t.row)
	any := false
	for v := range measured(m) {
		number, _ := v.AppendNumber(nil)
		t.row[t.index[keyOf(m, v)]] = string(number)
		any = true
	}
	if any {
		t.row[0] = timeOf(m)
		w.Write(t.row)
	}
}

// measured are the values of a reply or burst that are measured numbers.
func measured(m *exchange.Message) func(yield func(*payload.Value) bool) {
	return func(yield func(*payload.Value) bool) {
		if m.Unanswered > 0 || m.EchoOf > 0 || m.Outcome != frame.Whole || !m.Frame.Kind.FromSlave() {
			return
		}
		for i := range m.Reading.Values {
			v := &m.Reading.Values[i]
			if _, ok := v.Number(); ok && v.Field.Type == payload.Float && !yield(v) {
				return
			}
		}
	}
}

func timeOf(m *exchange.Message) string {
	if !m.Span.Known {
		return ""
	}
	return string(appendSeconds(nil, m.Span.Start))
}

// nameOf is a device's tag, or its address where the tag is not known.
func nameOf(m *exchange.Message) string {
	if m.Device != nil && m.Device.Name() != "" {
		return m.Device.Name()
	}
	return addressOf(m)
}

func addressOf(m *exchange.Message) string {
	if m.Device != nil {
		return m.Device.Unique.String()
	}
	return m.Frame.Address.String()
}

// keyOf tells the columns of a wide table apart.
func keyOf(m *exchange.Message, v *payload.Value) string {
	return addressOf(m) + " " + variable(v) + " " + v.UnitSymbol()
}

// variable is the name of a value; in a slot of command 9, with the code of the
// device variable.
func variable(v *payload.Value) string {
	if v.Slot < 0 {
		return v.Field.Name
	}
	return v.Field.Name + " " + strconv.Itoa(v.Slot)
}

func columnOf(m *exchange.Message, v *payload.Value) string {
	name := nameOf(m) + " " + variable(v)
	if v.HasUnit {
		name += " (" + v.UnitSymbol() + ")"
	}
	return name
}
