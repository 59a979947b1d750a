package commandfile_test

import (
	"os"
	"reflect"
	"strings"
	"testing"

	"looptone/frame/payload"
	"looptone/frame/payload/commandfile"
)

// Every built-in definition, written and read back, is the same definition.
func TestBuiltInDefinitionsRoundTrip(t *testing.T) {
	var all []commandfile.Command
	for _, d := range payload.All() {
		all = append(all, commandfile.Command{DeviceType: payload.AnyDevice, Definition: d})
		one := all[len(all)-1:]
		text, back := roundTrip(t, one)
		if !reflect.DeepEqual(one, back) {
			t.Errorf("command %d: got %+v\nwant %+v\nfrom\n%s", d.Command, back[0].Definition, d, text)
		}
	}
	if _, back := roundTrip(t, all); !reflect.DeepEqual(all, back) {
		t.Error("all in one file are not the same")
	}
}

func roundTrip(t testing.TB, commands []commandfile.Command) (text []byte, back []commandfile.Command) {
	t.Helper()
	text, err := commandfile.Append(nil, commands...)
	if err != nil {
		t.Fatal(err)
	}
	back, err = commandfile.Parse("written.toml", text)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	return text, back
}

// What the form can say comes back, in one text that is the form of all files.
func TestAppend(t *testing.T) {
	commands, err := commandfile.Parse("good.toml", []byte(good))
	if err != nil {
		t.Fatal(err)
	}
	text, back := roundTrip(t, commands)
	if !reflect.DeepEqual(commands, back) {
		t.Errorf("got %+v, want %+v", back, commands)
	}
	want := `[[table]]
name = "set point source"
rows = [
  { code = 0, text = "analog input" },
  { code = 1, text = "bus \"A\" \\ é" },
]

[[table]]
name = "readiness"
source = "the maker's manual, p.7"
rows = [
  { bit = 0, text = "ready" },
  { code = 0x40, mask = 0xc0, text = "warming up" },
]

[[command]]
expanded_device_type = 0xf903
number = 146
name = "write set point"
write = true
reply_repeats_request = true
  [[command.request]]
  revisions = "5"
  fields = [
    { name = "selector", type = "enumeration", size = 1, table = "set point source" },
    { name = "set point", type = "float", unit = "%" },
  ]
  [[command.request]]
  revisions = "6-"
  fields = [
    { name = "selector", type = "enumeration", size = 1, bits = "7-4", table = "set point source" },
    { name = "slot", type = "unsigned", size = 1, bits = "3-1" },
    { name = "hold", type = "unsigned", size = 1, bits = "0" },
    { name = "set point unit", type = "unit code", class_field = "classification" },
    { name = "classification", type = "enumeration", size = 1, table = "classification" },
    { name = "set point", type = "float", unit_field = "set point unit" },
  ]
  [command.codes]
  9 = "set point too high"
  10 = "set point too low"

[[command]]
expanded_device_type = 0xe1a2
number = 64512
name = "read counters"
write = false
  [[command.request]]
  revisions = "5-"
  [[command.reply]]
  revisions = "6-7"
  fields = [
    { name = "readiness", type = "flags", size = 1, table = "readiness" },
  ]
  group = [
    { name = "counter", type = "unsigned", size = 3, unit = "L" },
    { name = "rate", type = "float", unit = 240 },
  ]
  min = 0
  max = 4
  tail = [
    { name = "counted since", type = "date" },
  ]

[[command]]
number = 200
name = "write note"
write = true
  [[command.request]]
  revisions = "5-"
  fields = [
    { name = "page", type = "unsigned", size = 1 },
    { name = "note", type = "packed ascii", size = 24 },
  ]
  need = 1
`
	if string(text) != want {
		t.Errorf("got\n%s\nwant\n%s", text, want)
	}
	var b payload.Book
	if err := commandfile.Load(&b, "good.toml", []byte(good)); err != nil {
		t.Error(err)
	}
	if d, ok := b.Lookup(146, 0x3903); !ok || d.Name != "write set point" {
		t.Errorf("got %+v", d)
	}
}

func TestAppendRefuses(t *testing.T) {
	field := func(rows ...payload.Row) payload.Field {
		return payload.Field{Name: "a", Type: payload.Enumeration, Size: 1, Own: &payload.Table{Name: "x", Rows: rows}}
	}
	command := func(f payload.Field) commandfile.Command {
		return commandfile.Command{DeviceType: 3, Definition: &payload.Definition{Command: 200, Name: "n",
			Request: []payload.Layout{{For: payload.Revisions{From: 5}, Head: []payload.Field{f}, Need: 1}}}}
	}
	for want, commands := range map[string][]commandfile.Command{
		`two code tables are named "x", want a name of its own for each`: {command(field()), command(field(payload.Row{Text: "y"}))},
		`float of 0 bytes`: {command(payload.Field{Name: "a", Type: payload.Float})},
	} {
		text, err := commandfile.Append([]byte("before"), commands...)
		if err == nil || !strings.Contains(err.Error(), want) || string(text) != "before" {
			t.Errorf("got %q, %v, want %s", text, err, want)
		}
	}
}

// What a file leaves out.
func TestDefaults(t *testing.T) {
	commands, err := commandfile.Parse("short.toml", []byte(`[[command]]
number = 128
name = "read counters"
[[command.reply]]
max = 4
[[command.reply.group]]
name = "count"
type = "float"
`))
	want := []commandfile.Command{{DeviceType: payload.AnyDevice, Definition: &payload.Definition{
		Command: 128, Name: "read counters", Write: true,
		Reply: []payload.Layout{{For: payload.Revisions{From: 5}, Min: 1, Max: 4,
			Group: []payload.Field{{Name: "count", Type: payload.Float, Size: 4}}}},
	}}}
	if err != nil || !reflect.DeepEqual(commands, want) {
		t.Errorf("got %+v, %v, want %+v", commands, err, want)
	}
}

// Bytes that another field counts, in fields and in group.
func TestSizeField(t *testing.T) {
	commands, err := commandfile.Parse("counted.toml", []byte(`[[command]]
number = 128
name = "read notes"
[[command.request]]
fields = [
  { name = "length", type = "unsigned", size = 1 },
  { name = "note", type = "bytes", size_field = "length" },
]
[[command.reply]]
max = 4
group = [
  { name = "length", type = "unsigned", size = 1 },
  { name = "note", type = "bytes", size_field = "length" },
]
`))
	counted := []payload.Field{{Name: "length", Type: payload.Unsigned, Size: 1},
		{Name: "note", Type: payload.Bytes, Size: 255, SizeField: "length"}}
	from5 := payload.Revisions{From: 5}
	want := []commandfile.Command{{DeviceType: payload.AnyDevice, Definition: &payload.Definition{
		Command: 128, Name: "read notes", Write: true,
		Request: []payload.Layout{{For: from5, Head: counted, Need: 2}},
		Reply:   []payload.Layout{{For: from5, Group: counted, Min: 1, Max: 4}},
	}}}
	if err != nil || !reflect.DeepEqual(commands, want) {
		t.Fatalf("got %+v, %v, want %+v", commands, err, want)
	}
	if text, back := roundTrip(t, commands); !reflect.DeepEqual(commands, back) {
		t.Errorf("came back as %+v from\n%s", back, text)
	}
}

// The example in the package documentation is one.
func TestDocumentation(t *testing.T) {
	doc, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	example, _, _ := strings.Cut(string(doc), "Behind #")
	var text []byte
	for line := range strings.Lines(example) {
		if toml, ok := strings.CutPrefix(line, "//\t"); ok {
			text = append(text, toml...)
		}
	}
	var b payload.Book
	if err := commandfile.Load(&b, "doc.go", text); err != nil {
		t.Error(err)
	}
	if d, ok := b.Lookup(146, 0x3903); !ok || len(d.Request) != 1 || len(d.Reply) != 1 {
		t.Errorf("got %+v", d)
	}
}
