package payload

import (
	"slices"
	"strings"
	"testing"
)

func TestTables(t *testing.T) {
	before := ""
	for _, table := range Tables() {
		if table.Name <= before || len(table.Rows) == 0 {
			t.Errorf("table %q behind %q, %d rows", table.Name, before, len(table.Rows))
		}
		before = table.Name
		if found, ok := LookupTable(table.Name); !ok || found != table {
			t.Errorf("table %q is not found", table.Name)
		}
		checkRows(t, table)
	}
	for _, name := range []string{"", "material", strings.Repeat("material", 20)} {
		if _, ok := LookupTable(name); ok {
			t.Errorf("there is a table %q", name)
		}
	}
}

// checkRows: a row's text finds the row, and no other row means the same number.
func checkRows(t *testing.T, table *Table) {
	for i, r := range table.Rows {
		if n, ok := table.Code(plain(r.Text)); !ok || n != r.Code {
			t.Errorf("%s: %q is %d, want %d", table.Name, r.Text, n, r.Code)
		}
		for _, other := range table.Rows[:i] {
			if other.Code == r.Code && other.Mask == r.Mask {
				t.Errorf("%s: %d has two meanings", table.Name, r.Code)
			}
		}
	}
}

// Source: Biffi ICON3000 HART manual MDE 254 p.52 (C0 is good and not limited).
func TestDeviceVariableStatus(t *testing.T) {
	table, _ := LookupTable("device variable status")
	for n, want := range map[uint32][]string{
		0xc0: {"good", "not limited"}, 0x00: {"bad", "not limited"}, 0x70: {"poor accuracy", "constant"},
		0x9a: {"manual or fixed", "low limited", "more device variable status available", "bit 1"},
	} {
		if got := table.AppendNames(nil, n, 8); !slices.Equal(got, want) {
			t.Errorf("%02x: got %q, want %q", n, got, want)
		}
	}
}

func TestMeanings(t *testing.T) {
	for _, c := range []struct {
		table string
		n     uint32
		want  string
	}{
		{"loop current mode", 1, "enabled"}, // Source: Biffi ICON3000 HART manual MDE 254 p.49
		{"write protect", 251, "none"},      // Source: Flowserve LMENIM2340-00 p.58
		{"transfer function", 0, "linear"},  // Source: Siemens SITRANS F US A5E34981613-AC p.41
		{"device variable code", 246, "primary variable"},
		{"device variable code", 3, ""},
		{"no such table", 1, ""},
	} {
		table, _ := LookupTable(c.table)
		if got := table.Text(c.n); got != c.want {
			t.Errorf("%s %d: got %q, want %q", c.table, c.n, got, c.want)
		}
	}
}
