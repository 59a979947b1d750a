package payload

import (
	"encoding/json"
	"errors"
	"reflect"
	"slices"
	"testing"

	"looptone/frame"
	"looptone/frame/unit"
)

func TestDefinitionsAreValid(t *testing.T) {
	before := -1
	for _, d := range All() {
		if err := d.Check(); err != nil {
			t.Error(err)
		}
		if int(d.Command) <= before || d.Name == "" {
			t.Errorf("command %d (%s) behind %d", d.Command, d.Name, before)
		}
		before = int(d.Command)
		if found, ok := Lookup(d.Command); !ok || found != d {
			t.Errorf("command %d is not found", d.Command)
		}
		if (len(d.Request) == 0) != (len(d.Reply) == 0) {
			t.Errorf("command %d has one direction only", d.Command)
		}
	}
	if d, ok := Lookup(146); ok {
		t.Errorf("found %s for command 146", d.Name)
	}
}

// A command has the same revisions both ways.
func TestDirectionsHoldInTheSameRevisions(t *testing.T) {
	for _, d := range All() {
		for rev := uint8(5); rev <= 7; rev++ {
			_, request := d.Layout(frame.STX, rev)
			_, reply := d.Layout(frame.ACK, rev)
			if (request == nil) != (reply == nil) {
				t.Errorf("command %d, revision %d: request %v, reply %v", d.Command, rev, request, reply)
			}
		}
	}
}

// The commands that change something in the device, or make it do something.
func TestWrites(t *testing.T) {
	want := []uint16{
		6, 17, 18, 19, 22, 34, 35, 36, 37, 38, 39, 40, 41, 42, 43, 44, 45, 46, 47, 49, 51, 52, 53, 55, 56, 58, 59,
		64, 65, 66, 67, 68, 69, 71, 72, 77, 79, 82, 83, 87, 88, 89, 92, 97, 99, 102, 103, 104, 106, 107, 108, 109,
		111, 112, 113, 116, 117, 118, 119, 513,
	}
	var got []uint16
	for _, d := range All() {
		if d.Write {
			got = append(got, d.Command)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// Definitions are pure data: a text format carries all of them.
func TestDefinitionsArePureData(t *testing.T) {
	for _, d := range All() {
		text, err := json.Marshal(d)
		if err != nil {
			t.Fatal(err)
		}
		var back Definition
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(*d, back) {
			t.Errorf("command %d: got %+v, want %+v", d.Command, back, *d)
		}
	}
	var typ Type
	err := typ.UnmarshalText([]byte("integer"))
	if want := `no field type "integer", want one of unsigned, float, packed ascii, latin-1, date, time, ` +
		`enumeration, flags, unit code, bytes`; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// varies is a field of bytes of which another tells the number.
func varies(name, count string, most int) Field {
	return Field{Name: name, Type: Bytes, Size: most, SizeField: count}
}

func TestCheckRefuses(t *testing.T) {
	ok := Field{Name: "a", Type: Unsigned, Size: 1}
	high, low := ok, ok
	high.Bits, low.Name, low.Bits = Bits{4, 4}, "b", Bits{0, 4}
	with := func(change func(f *Field)) []Field {
		f := ok
		change(&f)
		return []Field{f}
	}
	for _, c := range []struct {
		want   string
		layout Layout
	}{
		{`field "a": type 0 is none`, Layout{Head: with(func(f *Field) { f.Type = 0 })}},
		{`field "": wants a name of its own`, Layout{Head: with(func(f *Field) { f.Name = "" })}},
		{`field "a": wants a name of its own`, Layout{Head: []Field{ok, ok}}},
		{`field "a": float of 2 bytes, want 4 to 4, a multiple of 1`, Layout{Head: []Field{{Name: "a", Type: Float, Size: 2}}}},
		{`field "a": packed ascii of 4 bytes, want 3 to 252, a multiple of 3`, Layout{Head: []Field{{Name: "a", Type: PackedASCII, Size: 4}}}},
		{`field "a": unsigned has no code table`, Layout{Head: with(func(f *Field) { f.Table = "write protect" })}},
		{`field "a": no code table "x"`, Layout{Head: with(func(f *Field) { f.Type, f.Table = Flags, "x" })}},
		{`field "a": names a code table and has one of its own`,
			Layout{Head: with(func(f *Field) { f.Type, f.Table, f.Own = Flags, "write protect", &Table{} })}},
		{`field "a": unsigned has no code table`, Layout{Head: with(func(f *Field) { f.Own = &Table{} })}},
		{`field "a": has a fixed unit and a field that holds one`,
			Layout{Head: with(func(f *Field) { f.Unit, f.UnitField = unit.Second, "b" })}},
		{`field "a": flags has no unit`, Layout{Head: with(func(f *Field) { f.Type, f.Unit = Flags, unit.Second })}},
		{`field "a": unsigned does not depend on a class`, Layout{Head: with(func(f *Field) { f.Class = "b" })}},
		{`field "a": no field "b" beside it or in the head`, Layout{Head: with(func(f *Field) { f.UnitField = "b" })}},
		{`field "a": its unit is field "a", which is unsigned`, Layout{Head: with(func(f *Field) { f.UnitField = "a" })}},
		{`field "u": its class is field "f", want a whole number of one byte`,
			Layout{Head: []Field{high, low, {Name: "f", Type: Float, Size: 4}, {Name: "u", Type: UnitCode, Size: 1, Class: "f"}}}},
		{`field "a": a revision is one unsigned byte`, Layout{Head: with(func(f *Field) { f.Size, f.Revision = 2, true })}},
		{`field "a": a revision stands in the head`, Layout{Tail: with(func(f *Field) { f.Revision = true })}},
		{`field "a": takes the bits 3-0, want them from bit 7 down`, Layout{Head: with(func(f *Field) { f.Bits = Bits{0, 4} })}},
		{`field "a": the bits below bit 4 are missing`, Layout{Head: []Field{high}}},
		{`field "b": takes whole bytes, want the bits from 3 down, which are left of those before`,
			Layout{Head: []Field{high, {Name: "b", Type: Unsigned, Size: 1}}}},
		{`field "b": shares 2 bytes with a field of 1`, Layout{Head: []Field{high, {Name: "b", Type: Unsigned, Size: 2, Bits: Bits{0, 4}}}}},
		{`field "a": bytes takes whole bytes`, Layout{Head: with(func(f *Field) { f.Type, f.Bits = Bytes, Bits{0, 8} })}},
		{`field "a": unsigned does not vary in size`, Layout{Head: with(func(f *Field) { f.SizeField = "n" })}},
		{`field "b": varies in size up to 4 bytes, want up to 255`, Layout{Head: []Field{ok, varies("b", "a", 4)}}},
		{`field "b": no field "n" before it in its list`, Layout{Head: []Field{ok, varies("b", "n", 255)}}},
		{`field "b": no field "a" before it in its list`, Layout{Head: []Field{varies("b", "a", 255), ok}}},
		{`field "b": no field "a" before it in its list`,
			Layout{Head: []Field{ok}, Need: 1, Group: []Field{varies("b", "a", 255)}, Max: 1}},
		{`field "b": its size is field "f", want an unsigned of one byte`,
			Layout{Head: []Field{{Name: "f", Type: Flags, Size: 1}, varies("b", "f", 255)}}},
		{`field "b": its size is field "f", want an unsigned of one byte`,
			Layout{Head: []Field{{Name: "f", Type: Unsigned, Size: 2}, varies("b", "f", 255)}}},
		{`field "b": its size is field "a", want an unsigned of one byte`,
			Layout{Head: []Field{high, {Name: "low", Type: Unsigned, Size: 1, Bits: Bits{0, 4}}, varies("b", "a", 255)}}},
		{`field "b": varies in size, want it in the head or the group`, Layout{Tail: []Field{ok, varies("b", "a", 255)}}},
		{`field "b": varies in size, want it at the end of its list`,
			Layout{Head: []Field{ok, varies("b", "a", 255), {Name: "c", Type: Unsigned, Size: 1}}}},
		{`field "b": varies in size, want no tail behind it`, Layout{Group: []Field{ok, varies("b", "a", 255)}, Max: 2,
			Tail: []Field{{Name: "c", Type: Unsigned, Size: 1}}}},
		{`field "b": varies in size, want no group behind it`, Layout{Head: []Field{ok, varies("b", "a", 255)}, Need: 2,
			Group: []Field{{Name: "c", Type: Unsigned, Size: 1}}, Max: 2}},
		{"holds up to 256 bytes, want at most 255", Layout{Group: []Field{ok, varies("b", "a", 255)}, Max: 256}},
		{"holds up to 256 bytes, want at most 255", Layout{Group: []Field{ok}, Max: 256}},
		{"needs 2 of 1 fields", Layout{Head: []Field{ok}, Need: 2}},
		{"may end within its head and goes on behind it", Layout{Head: []Field{ok}, Tail: []Field{low}}},
		{"repeats a group without fields", Layout{Max: 1}},
		{"repeats its group 2 to 1 times", Layout{Group: []Field{ok}, Min: 2, Max: 1}},
		{"does not come behind the revisions before it", Layout{For: Revisions{7, 6}}},
	} {
		if c.layout.For == (Revisions{}) {
			c.layout.For = Revisions{5, 7}
		}
		d := Definition{Command: 200, Request: []Layout{c.layout}}
		want := "not a valid definition: command 200, request of " + c.layout.For.String() + ": " + c.want
		if err := d.Check(); err == nil || err.Error() != want || !errors.Is(err, ErrDefinition) {
			t.Errorf("got  %v\nwant %s", err, want)
		}
	}
	counted := Definition{Command: 200, Request: []Layout{{For: revision5, Group: []Field{ok, varies("b", "a", 255)}, Max: 255}}}
	if err := counted.Check(); err != nil {
		t.Errorf("slots of their own lengths: %v", err)
	}
	counted.Request = append(counted.Request, always(revision5, raw("c", 255)))
	if want := "not a valid definition: command 200, request of revision 5: is the second form behind one that varies in size"; counted.Check() == nil ||
		counted.Check().Error() != want {
		t.Errorf("got %v, want %s", counted.Check(), want)
	}
	sharing := Definition{Request: []Layout{{For: revision5, Head: []Field{high, low}}}}
	if err := sharing.Check(); err != nil {
		t.Errorf("two fields of a byte: %v", err)
	}
	overlap := Definition{Reply: []Layout{{For: upTo6}, {For: from6}}}
	if err := overlap.Check(); err == nil {
		t.Error("revision 6 has two layouts")
	}
	longer := []Field{ok, {Name: "b", Type: Unsigned, Size: 1}}
	forms := Definition{Reply: []Layout{always(revision7, ok), always(revision7, longer...)}}
	if err := forms.Check(); err != nil {
		t.Errorf("two forms: %v", err)
	}
	forms.Reply[0], forms.Reply[1] = forms.Reply[1], forms.Reply[0]
	if want := "not a valid definition: command 0, reply of revision 7: is the second form and may hold 1 bytes, " +
		"want more than the 2 of the form before it"; forms.Check() == nil || forms.Check().Error() != want {
		t.Errorf("got %v, want %s", forms.Check(), want)
	}
	forms.Reply[0] = forms.Reply[1]
	if forms.Check() == nil {
		t.Error("two forms have the same length")
	}
	code := Definition{Codes: map[uint8]string{128: "x"}}
	if err := code.Check(); err == nil || err.Error() != "not a valid definition: command 0: response code 128, want 0 to 127" {
		t.Errorf("got %v", err)
	}
}

// An extended number takes two bytes of the data.
func TestCheckExtendedNumber(t *testing.T) {
	for number, most := range map[uint16]int{253: 253, 64512: 251} {
		for _, size := range []int{most, most + 1} {
			d := Definition{Command: number, Reply: one(raw("a", size))}
			if err := d.Check(); (err == nil) != (size == most) {
				t.Errorf("command %d with a reply of %d bytes: %v", number, size, err)
			}
		}
	}
}

func TestRevisions(t *testing.T) {
	for r, want := range map[Revisions]string{
		{5, 5}: "revision 5", {6, 7}: "revisions 6 to 7", {7, 0}: "revision 7", {6, 0}: "revisions 6 to 7",
	} {
		if r.String() != want || !r.Has(r.From) || r.Has(r.From-1) {
			t.Errorf("got %v, want %s", r, want)
		}
	}
}
