package payload

import (
	"errors"
	"testing"

	"looptone/frame"
)

func TestBookLookup(t *testing.T) {
	mine := DeviceTypeOf(frame.UniqueOf(5, 249, 3, 7))
	own := &Definition{Command: 146, Name: "own", Write: true}
	anyones := &Definition{Command: 146, Name: "anyone's"}
	range35 := &Definition{Command: 35, Name: "own range"}
	extended := &Definition{Command: 64512, Name: "extended", Write: true}
	var b Book
	for d, of := range map[*Definition]DeviceType{own: 249<<8 | 3, anyones: AnyDevice, range35: mine, extended: mine} {
		if err := b.Add(of, d); err != nil {
			t.Fatal(err)
		}
	}
	builtIn, _ := Lookup(3)
	for _, c := range []struct {
		number uint16
		of     DeviceType
		want   *Definition
	}{
		{146, mine, own}, {146, mine + 1, anyones}, {146, AnyDevice, anyones},
		{35, mine, range35}, {64512, mine, extended}, {64512, AnyDevice, nil}, {147, mine, nil},
		{3, mine, builtIn}, {3, AnyDevice, builtIn},
	} {
		d, ok := b.Lookup(c.number, c.of)
		if d != c.want || ok != (c.want != nil) {
			t.Errorf("command %d of %v: got %+v", c.number, c.of, d)
		}
		if writes := b.Writes(c.number, c.of); writes != (c.want == nil || c.want.Write) {
			t.Errorf("command %d of %v writes: %v", c.number, c.of, writes)
		}
	}
	if n := testing.AllocsPerRun(100, func() { b.Lookup(146, mine); b.Lookup(3, mine) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func TestBookWithoutUsers(t *testing.T) {
	for _, b := range []*Book{nil, {}} {
		if d, ok := b.Lookup(3, AnyDevice); !ok || d.Command != 3 {
			t.Errorf("got %+v", d)
		}
		if _, ok := b.Lookup(146, 0x3903); ok || !b.Writes(146, 0x3903) || b.Writes(3, 0x3903) {
			t.Error("command 146 is known, or reads, or command 3 writes")
		}
		if got := len(b.All()); got != len(All()) {
			t.Errorf("got %d entries, want %d", got, len(All()))
		}
	}
}

func TestBookRefuses(t *testing.T) {
	field := Field{Name: "a", Type: Float, Size: 2}
	var b Book
	if err := b.Add(0x3903, &Definition{Command: 146, Name: "first"}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		of   DeviceType
		d    Definition
		is   error
		want string
	}{
		{AnyDevice, Definition{Command: 146}, nil, ""},
		{0x3904, Definition{Command: 146}, nil, ""},
		{AnyDevice, Definition{Command: 32}, nil, ""},
		{0x3903, Definition{Command: 146}, ErrTwice,
			`command 146 of device type 3903 is defined already, as "first": want one definition`},
		{0xf903, Definition{Command: 146}, ErrTwice, // the same in an address
			`command 146 of device type f903 is defined already, as "first": want one definition`},
		{AnyDevice, Definition{Command: 0}, ErrUniversal,
			`command 0 is universal and defined by the standard: want another number, for instance 128 to 253`},
		{0x3903, Definition{Command: 31}, ErrUniversal,
			`command 31 is universal and defined by the standard: want another number, for instance 128 to 253`},
		{0x3903, Definition{Command: 38}, ErrUniversal,
			`command 38 is universal and defined by the standard: want another number, for instance 128 to 253`},
		{0x3903, Definition{Command: 48}, ErrUniversal,
			`command 48 is universal and defined by the standard: want another number, for instance 128 to 253`},
		{0x3903, Definition{Command: 200, Reply: []Layout{always(anyRevision, field)}}, ErrDefinition,
			`not a valid definition: command 200, reply of revisions 5 to 7: field "a": float of 2 bytes, want 4 to 4, a multiple of 1`},
	} {
		err := b.Add(c.of, &c.d)
		if !errors.Is(err, c.is) || err != nil && err.Error() != c.want {
			t.Errorf("command %d of %v: got %v, want %s", c.d.Command, c.of, err, c.want)
		}
	}
}

func TestBookAll(t *testing.T) {
	var b Book
	for _, of := range []DeviceType{5, AnyDevice, 4} {
		for _, number := range []uint16{65000, 128} {
			if err := b.Add(of, &Definition{Command: number}); err != nil {
				t.Fatal(err)
			}
		}
	}
	all := b.All()
	if got, want := len(all), len(All())+6; got != want {
		t.Fatalf("got %d entries, want %d", got, want)
	}
	var users []DeviceType
	for i, e := range all {
		if i > 0 && e.Command < all[i-1].Command {
			t.Errorf("command %d behind %d", e.Command, all[i-1].Command)
		}
		if e.User {
			users = append(users, e.DeviceType)
		}
	}
	want := []DeviceType{AnyDevice, 4, 5, AnyDevice, 4, 5}
	for i := range want {
		if users[i] != want[i] {
			t.Errorf("got %v, want %v", users, want)
			break
		}
	}
}

func TestDeviceTypeOf(t *testing.T) {
	for a, want := range map[frame.Address]string{
		frame.Polling(3):                "any device",
		frame.Broadcast:                 "any device",
		frame.Unique(0, 1):              "device type 0000",
		frame.UniqueOf(5, 249, 3, 102):  "device type 3903",
		frame.UniqueOf(7, 1, 0xe1a2, 7): "device type 21a2",
	} {
		if got := DeviceTypeOf(a).String(); got != want {
			t.Errorf("%v: got %s, want %s", a, got, want)
		}
	}
}

// A table of a definition's own counts for decoding and for encoding.
func TestOwnTable(t *testing.T) {
	source := &Table{Name: "source", Rows: []Row{code(0, "analog input"), code(1, "bus")}}
	f := Field{Name: "selector", Type: Enumeration, Size: 1, Own: source}
	d := Definition{Command: 146, Request: []Layout{always(anyRevision, f)}}
	if err := d.Check(); err != nil {
		t.Fatal(err)
	}
	r := d.Decode(nil, frame.STX, []byte{1}, 5)
	if len(r.Values) != 1 || r.Values[0].Meaning() != "bus" {
		t.Errorf("got %+v", r.Values)
	}
	if c, err := f.Parse("analog input"); err != nil || c.Number != 0 {
		t.Errorf("got %v, %v", c, err)
	}
	if _, err := f.Parse("tape"); err == nil || err.Error() != `has no such meaning: got "tape", want a number or one of analog input, bus` {
		t.Errorf("got %v", err)
	}
	f.Type, f.Own = Flags, &Table{Rows: []Row{flag(1, "ready")}}
	v := Value{Field: &f, Raw: []byte{1}}
	if names := v.AppendNames(nil); len(names) != 1 || names[0] != "ready" {
		t.Errorf("got %q", names)
	}
}

// A person types a name in any case.
func TestTypedName(t *testing.T) {
	l := always(anyRevision, unsigned("PID mode", 1))
	for _, word := range []string{"PID mode=2", "pid_mode=2", "PID_Mode=2"} {
		if c, err := l.Parse([]string{word}); err != nil || len(c["PID mode"]) != 1 {
			t.Errorf("%s: got %v, %v", word, c, err)
		}
	}
}
