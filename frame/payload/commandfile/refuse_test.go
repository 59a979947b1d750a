package commandfile_test

import (
	"errors"
	"strings"
	"testing"

	"looptone/frame/payload"
	"looptone/frame/payload/commandfile"
)

// noteType is that of a field in good that stands behind an unsigned byte.
const noteType = `"packed ascii", size = 24`

// good is a file that each test spoils in one place.
const good = `[[table]]
name = "set point source"
rows = [
  { code = 0, text = "analog input" },
  { code = 1, text = 'bus "A" \ é' },
]

[[command]]
manufacturer = 249
device_type = 3
number = 146
name = "write set point"
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
  10 = "set point too low"
  9 = "set point too high"

[[command]]
expanded_device_type = 0xe1a2
number = 64512
name = "read counters"
write = false
  [[command.request]]
  [[command.reply]]
  revisions = "6-7"
  fields = [ { name = "readiness", type = "flags", size = 1, table = "readiness" } ]
  min = 0
  max = 4
  tail = [ { name = "counted since", type = "date" } ]
    [[command.reply.group]]
    name = "counter"
    type = "unsigned"
    size = 3
    unit = "L"
    [[command.reply.group]]
    name = "rate"
    type = "float"
    unit = 240

[[command]]
number = 200
name = "write note"
  [[command.request]]
  fields = [
    { name = "page", type = "unsigned", size = 1 },
    { name = "note", type = "packed ascii", size = 24 },
  ]
  need = 1

[[table]]
name = "readiness"
source = "the maker's manual, p.7"
rows = [ { bit = 0, text = "ready" }, { mask = 0xc0, code = 0x40, text = "warming up" } ]
`

func TestRefusals(t *testing.T) {
	tests := []struct{ name, old, new, want string }{
		{"key misspelt", "manufacturer = 249", "manufacurer = 249",
			`9:1: unknown key "manufacurer" in [[command]]: did you mean "manufacturer"?`},
		{"key misspelt in a field", `type = "float", unit = "%" }`, `type = "float", unnit = "%" }`,
			`18:43: unknown key "unnit" in field "set point": did you mean "unit"?`},
		{"key that is none", "number = 200", "number = 200\ncolour = \"red\"",
			`58:1: unknown key "colour" in [[command]]: known are codes, device_type, expanded_device_type, manufacturer, name, number, reply, reply_repeats_request, request, write`},
		{"table that is none", "[[table]]\nname = \"readiness\"", "[[device]]\nname = \"readiness\"",
			`66:3: unknown key "device" in the top level of the file: known are command, table`},
		{"codes in double brackets", "[[command]]\nnumber = 200", "[[command.codes]]\nnumber = 200",
			"56:11: codes: got an array, want a table"},
		{"layout in single brackets", "  [[command.request]]\n  [[command.reply]]", "  [command.request]\n  [[command.reply]]",
			"39:12: [command.request] stands in single brackets, want [[command.request]]: there may be several"},
		{"number missing", "number = 200\n", "",
			"56:3: [[command]] has no number, want for instance number = 146"},
		{"number out of range", "number = 200", "number = 65536",
			"57:10: number: got 65536, want a whole number from 0 to 65535"},
		{"number as text", "number = 200", `number = "200"`,
			`57:10: number: got the string "200", want a whole number from 0 to 65535`},
		{"number with a point", "number = 200", "number = 200.5",
			"57:10: number: got 200.5, want a whole number from 0 to 65535"},
		{"name missing", "name = \"write note\"\n", "",
			`56:3: [[command]] has no name, want for instance name = "write set point"`},
		{"name empty", `"write note"`, `" "`,
			"58:8: name is empty, want some words"},
		{"name of two lines", `"write note"`, `"write\nnote"`,
			`58:8: name has the character '\n', want printable ones`},
		{"name with a blank", `"write note"`, `" write note"`,
			`58:8: name " write note" begins or ends with a blank, want "write note"`},
		{"universal", "number = 200", "number = 3",
			"57:10: command 3 is universal and defined by the standard: want another number, for instance 128 to 253"},
		{"universal since revision 7", "number = 200", "number = 48",
			"57:10: command 48 is universal and defined by the standard: want another number, for instance 128 to 253"},
		{"command twice", "expanded_device_type = 0xe1a2\nnumber = 64512", "expanded_device_type = 0x3903\nnumber = 146",
			"36:10: command 146 of device type 3903 is defined twice, first in line 11: want one definition"},
		{"write as text", "write = false", `write = "no"`,
			`38:9: write: got the string "no", want true or false`},
		{"maker of revision 7", "manufacturer = 249", "manufacturer = 24702",
			"9:16: manufacturer: got 24702, want a whole number from 0 to 255: devices of revision 7 are named by their expanded_device_type"},
		{"maker without type", "device_type = 3\n", "",
			"9:16: manufacturer stands without a device_type, want both"},
		{"type without maker", "manufacturer = 249\n", "",
			"9:15: device_type stands without a manufacturer, want both"},
		{"both kinds of type", "device_type = 3", "device_type = 3\nexpanded_device_type = 3",
			"11:24: expanded_device_type stands for manufacturer and device_type, want it or these"},
		{"revision unknown", `revisions = "5"`, `revisions = "8"`,
			`15:15: there are no revisions "8", want one from 5 to 7, a range like "5-6", or "6-" for 6 and newer`},
		{"revisions backwards", `revisions = "6-7"`, `revisions = "7-6"`,
			`41:15: there are no revisions "7-6", want one from 5 to 7, a range like "5-6", or "6-" for 6 and newer`},
		{"revisions as a number", `revisions = "5"`, "revisions = 5",
			"15:15: revisions: got 5, want a string"},
		{"revisions overlap", `revisions = "6-"`, `revisions = "5-"`,
			"20:13: the request of revisions 5 to 7 does not come behind the revisions before it"},
		{"type missing", `{ name = "hold", type = "unsigned",`, `{ name = "hold",`,
			`25:5: the field has no type, want for instance type = "float"`},
		{"type misspelt", `type = "unsigned", size = 1, bits = "3-1"`, `type = "unsinged", size = 1, bits = "3-1"`,
			`24:29: no field type "unsinged": did you mean "unsigned"?`},
		{"type that is none", `"packed ascii"`, `"string"`,
			`62:29: no field type "string", want one of unsigned, float, packed ascii, latin-1, date, time, enumeration, flags, unit code, bytes`},
		{"size missing", `"packed ascii", size = 24`, `"packed ascii"`,
			`62:5: field "note" has no size, want for instance size = 3`},
		{"size of a float", `type = "float", unit = "%"`, `type = "float", size = 8, unit = "%"`,
			"18:50: size: got 8, want 4 for type float"},
		{"size too large", "    size = 3", "    size = 5",
			"49:12: size: got 5, want 1 to 4 for type unsigned"},
		{"size not a multiple", "size = 24", "size = 25",
			"62:52: size: got 25, want 3 to 252, a multiple of 3, for type packed ascii"},
		{"size as text", "    size = 3", `    size = "3"`,
			`49:12: size: got the string "3", want 1 to 4 for type unsigned`},
		{"bits overlap", `bits = "3-1"`, `bits = "4-1"`,
			`24:5: field "slot": takes the bits 4-1, want them from bit 3 down`},
		{"bits left out", `bits = "3-1"`, `bits = "2-1"`,
			`24:5: field "slot": takes the bits 2-1, want them from bit 3 down`},
		{"bits missing", "    { name = \"hold\", type = \"unsigned\", size = 1, bits = \"0\" },\n", "",
			`25:5: field "set point unit": takes whole bytes, want the bits from 0 down, which are left of those before`},
		{"bits backwards", `bits = "3-1"`, `bits = "1-3"`,
			`24:58: bits "1-3", want the highest and the lowest, of 7 to 0, for instance "7-3" or "2"`},
		{"bits beyond the byte", `bits = "7-4"`, `bits = "8-4"`,
			`23:65: bits "8-4", want the highest and the lowest, of 7 to 0, for instance "7-3" or "2"`},
		{"bits of a float", `type = "float", unit = "%"`, `type = "float", bits = "7-0", unit = "%"`,
			`18:5: field "set point": float takes whole bytes`},
		{"unit misspelt", `unit = "%"`, `unit = "kpa"`,
			`18:50: unit "kpa" is unknown: did you mean "kPa"?`},
		{"unit unknown", `unit = "%"`, `unit = "furlong"`,
			`18:50: unit "furlong" is unknown, want a symbol such as "kPa", or a code from 1 to 255`},
		{"unit code out of range", "unit = 240", "unit = 256",
			"54:12: unit: got 256, want a code from 1 to 255, or a symbol"},
		{"unit as truth", "unit = 240", "unit = true",
			`54:12: unit: got true, want a symbol or a code, for instance "kPa" or 12`},
		{"unit of text", `"packed ascii", size = 24`, `"packed ascii", size = 24, unit = "L"`,
			`62:5: field "note": packed ascii has no unit`},
		{"two units", `type = "float", unit = "%"`, `type = "float", unit = "%", unit_field = "selector"`,
			"18:68: the field has a unit and a unit_field, want one of them"},
		{"unit field misspelt", `unit_field = "set point unit"`, `unit_field = "setpoint unit"`,
			`28:56: there is no field "setpoint unit": did you mean "set point unit"?`},
		{"unit field that is none", `unit_field = "set point unit"`, `unit_field = "colour"`,
			`28:56: there is no field "colour": want one that stands beside it or in fields`},
		{"unit field of another type", `unit_field = "set point unit"`, `unit_field = "slot"`,
			`28:5: field "set point": its unit is field "slot", which is unsigned`},
		{"class field that is none", `class_field = "classification"`, `class_field = "colour"`,
			`26:66: there is no field "colour": want one that stands beside it or in fields`},
		{"size field misspelt", noteType, `"bytes", size_field = "pages"`,
			`62:51: there is no field "pages": did you mean "page"?`},
		{"size field that is none", noteType, `"bytes", size_field = "colour"`,
			`62:51: there is no field "colour": want one that stands before it in the same list`},
		{"size field of text", noteType, `"latin-1", size_field = "page"`,
			"62:53: size_field is for type bytes, want none for type latin-1"},
		{"size field and size", noteType, `"bytes", size = 24, size_field = "page"`,
			"62:62: the field has a size and a size_field, want one of them"},
		{"size field empty", noteType, `"bytes", size_field = ""`,
			"62:51: size_field is empty, want the name of a field before it"},
		{"size field with bytes behind", noteType, `"bytes", size_field = "page" }, { name = "more", type = "date"`,
			`62:5: field "note": varies in size, want it at the end of its list`},
		{"table misspelt", `table = "readiness"`, `table = "rediness"`,
			`42:70: code table "rediness" is unknown: did you mean "readiness"?`},
		{"table unknown", `table = "readiness"`, `table = "colours"`,
			`42:70: code table "colours" is unknown, want a [[table]] of this file or a built-in one`},
		{"table of a float", `type = "float", unit = "%"`, `type = "float", table = "readiness"`,
			`18:5: field "set point": float has no code table`},
		{"flags with codes", `table = "readiness"`, `table = "set point source"`,
			`42:70: code table "set point source" gives 0 a meaning, want its rows to name bits: bit = 0 in place of code = 1`},
		{"two fields of a name", `name = "slot"`, `name = "Selector"`,
			`24:14: there are two fields "Selector", the first in line 23: want a name of its own for each`},
		{"equals sign", `name = "slot"`, `name = "slot=1"`,
			`24:14: field name "slot=1" has an equals sign, want none: what a field holds is typed as name=content`},
		{"revision of two bytes", `{ name = "page", type = "unsigned", size = 1 }`, `{ name = "page", type = "unsigned", size = 2, tells_revision = true }`,
			`61:5: field "page": a revision is one unsigned byte`},
		{"no field", `fields = [ { name = "readiness", type = "flags", size = 1, table = "readiness" } ]`, "fields = [ 3 ]",
			`42:14: this is no field, want for instance { name = "set point", type = "float", unit = "%" }`},
		{"fields as a table", `fields = [ { name = "readiness", type = "flags", size = 1, table = "readiness" } ]`, `fields = { name = "readiness" }`,
			`42:12: fields: got a table, want a list, for instance fields = [ { name = "set point", type = "float", unit = "%" } ]`},
		{"group without limit", "  max = 4\n", "",
			"45:21: the group has no limit, want for instance max = 4"},
		{"limit without group", "  need = 1", "  max = 4",
			"64:9: max limits a group, and there is none: want a group or no max"},
		{"group without fields", "  need = 1", "  max = 4\n  group = []",
			"65:11: the group has no fields, want at least one or no group"},
		{"limits backwards", "min = 0", "min = 5",
			"43:9: min: got 5, want a whole number from 0 to 4"},
		{"need too many", "need = 1", "need = 3",
			"64:10: need: got 3, want a whole number from 0 to 2"},
		{"need before a tail", "need = 1", "need = 1\n  tail = [ { name = \"day\", type = \"date\" } ]",
			"64:10: need lets fields be left out before a group or a tail, want no need, or nothing behind fields"},
		{"reply too long", "max = 4", "max = 36",
			"40:13: the reply of revisions 6 to 7 holds up to 256 bytes, want at most 251"},
		{"request too long", "size = 24", "size = 252 },\n    { name = \"more\", type = \"date\"",
			"59:13: the request of revisions 5 to 7 holds up to 256 bytes, want at most 255"},
		{"repeated request too long", `{ name = "set point", type = "float", unit = "%" },`, `{ name = "note", type = "bytes", size = 253 },`,
			"14:13: the reply of revision 5 holds up to 254 bytes, want at most 253"},
		{"reply twice", "reply_repeats_request = true", "reply_repeats_request = true\n  [[command.reply]]",
			"13:25: the command has layouts of a reply as well, want these or reply_repeats_request = true"},
		{"no request to repeat", "write = false\n  [[command.request]]\n  [[command.reply]]", "write = false\nreply_repeats_request = true\n[[command]]\nnumber = 201\nname = \"a\"\n  [[command.reply]]",
			"39:25: there is no request to repeat, want at least one [[command.request]]"},
		{"response code out of range", `  9 = "set point too high"`, `  128 = "set point too high"`,
			`32:9: response code "128", want a number from 0 to 127`},
		{"response code in words", `  9 = "set point too high"`, `  nine = "set point too high"`,
			`32:10: response code "nine", want a number from 0 to 127`},
		{"response code twice", `  9 = "set point too high"`, "  9 = \"high\"\n  9 = \"low\"",
			"33:3: this is no TOML: key 9 is already defined"},
		{"meaning as a number", `  9 = "set point too high"`, "  9 = 3",
			"32:7: codes.9: got 3, want a string"},
		{"table without name", "name = \"set point source\"\n", "",
			`1:3: [[table]] has no name, want for instance name = "set point source"`},
		{"table without rows", `rows = [ { bit = 0, text = "ready" }, { mask = 0xc0, code = 0x40, text = "warming up" } ]`, "rows = []",
			"69:8: the code table has no rows, want at least one"},
		{"built-in table", `name = "set point source"`, `name = "write protect"`,
			`2:8: code table "write protect" is built in, want another name`},
		{"table twice", "name = \"readiness\"\nsource", "name = \"set point source\"\nsource",
			`67:8: code table "set point source" is defined twice, want one`},
		{"row without code", "{ code = 0, text", "{ text",
			"4:3: the row has no code, want for instance code = 0"},
		{"row with bit and code", "{ bit = 0,", "{ bit = 0, code = 1,",
			"69:18: the row has a bit and a code, want one of them"},
		{"bit out of range", "bit = 0", "bit = 32",
			"69:18: bit: got 32, want a whole number from 0 to 31"},
		{"code beside the mask", "code = 0x40", "code = 0x20",
			"69:61: code 0x20 has bits that mask 0xc0 has not: no number would have this meaning"},
		{"code with two meanings", "{ code = 1, text", "{ code = 0, text",
			`5:3: code 0 has two meanings, "analog input" and "bus \"A\" \\ é": want one`},
		{"no TOML", "number = 200", "number = ",
			"57:10: this is no TOML: unexpected character U+000A at start of value"},
		{"key twice", "number = 200", "number = 200\nnumber = 201",
			"58:1: this is no TOML: key number is already defined"},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			if strings.Count(good, c.old) == 0 {
				t.Fatalf("%q does not stand in the good file", c.old)
			}
			refused(t, strings.Replace(good, c.old, c.new, 1), c.want)
		})
	}
}

func refused(t *testing.T, text, want string) {
	t.Helper()
	err := commandfile.Load(&payload.Book{}, "own.toml", []byte(text))
	var e *commandfile.Error
	if !errors.As(err, &e) {
		t.Fatalf("got %v, want %s", err, want)
	}
	if got := err.Error(); got != "own.toml:"+want {
		t.Errorf("got  %s\nwant own.toml:%s", got, want)
	}
}

func TestRefusedFiles(t *testing.T) {
	for text, want := range map[string]string{
		"":                "1:1: the file is empty, want a [[command]] for each command",
		"# nothing yet\n": "1:1: the file is empty, want a [[command]] for each command",
		"[[table]]\nname = \"x\"\nrows = [ { code = 1, text = \"y\" } ]\n": "1:1: the file defines no command, want at least one [[command]]",
		"[command]\nnumber = 200\n":                                        "1:2: [command] stands in single brackets, want [[command]]: there may be several",
		"command = 3":                                                      "1:11: command: got 3, want tables under [[command]]",
		"command = [ 3 ]":                                                  "1:13: this is no table, want tables under [[command]]",
		"[[comand]]\nnumber = 200\n":                                       `1:3: unknown key "comand" in the top level of the file: did you mean "command"?`,
		"[[command]]\r\nwrit = true\r\n":                                   `2:1: unknown key "writ" in [[command]]: did you mean "write"?`,
		"number = \xff":                                                    "1:10: this is no TOML: unexpected character U+00FF 'ÿ' at start of value",
	} {
		refused(t, text, want)
	}
}

// A command may come once for a type, from however many files.
func TestRefusedSecondFile(t *testing.T) {
	var b payload.Book
	first := "[[command]]\nmanufacturer = 249\ndevice_type = 3\nnumber = 146\nname = \"first\"\n"
	if err := commandfile.Load(&b, "first.toml", []byte(first)); err != nil {
		t.Fatal(err)
	}
	second := strings.Replace(first, "[[command]]", "[[command]]\nnumber = 147\nname = \"other\"\n[[command]]", 1)
	err := commandfile.Load(&b, "second.toml", []byte(second))
	want := `second.toml:7:10: command 146 of device type f903 is defined already, as "first": want one definition`
	if err == nil || err.Error() != want || !errors.Is(err, payload.ErrTwice) {
		t.Errorf("got %v, want %s", err, want)
	}
}
