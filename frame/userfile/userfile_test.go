package userfile_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"looptone/frame/userfile"
)

// good is a file that each test spoils in one place.
const good = `[site]
name = "Bench"
count = 7
level = 2.5
on = true
day = 2031-03-01
mode = "slow"
share = 0.5
span = 10

[[unit]]
id = 1
  [unit.range]
  lower = 0
  [[unit.part]]
  id = 11
[[unit]]
id = 2
parts = [ { id = 21 },
  { id = 22 } ]
`

// A site is what read makes of the good file.
type site struct {
	name, day, mode            string
	count                      int64
	level, share, span, lowest float64
	on                         bool
	ids                        []int64
}

// read reads a file like the good one, and meets every method on its way.
func read(text string) (s site, err error) {
	top, err := userfile.Parse("f.toml", []byte(text), "site", "unit")
	if err != nil {
		return s, err
	}
	return s.readFrom(top)
}

func (s *site) readFrom(top *userfile.Table) (site, error) {
	top.Need("site", `{ name = "Bench" }`)
	top.Sub("site", s.read)
	top.Each("unit", s.unit)
	return *s, top.End()
}

func (s *site) unit(t *userfile.Table) {
	s.id(t)
	t.Sub("range", func(t *userfile.Table) { s.lowest = t.Number("lower", -1) })
	t.Each("part", s.id)
	t.List("parts", "part", "{ id = 1 }", s.id)
	if t.Has("other") && t.Sound() {
		t.Refuse(userfile.Below(userfile.Element("parts", 1), "id"), errors.New("this is the place"))
	}
	t.Ask("other")
}

func (s *site) id(t *userfile.Table) {
	t.Need("id", "1")
	s.ids = append(s.ids, t.Whole("id", 0, 99, -1))
}

func (s *site) read(t *userfile.Table) {
	t.Need("name", `"Bench"`)
	s.name, _ = t.Text("name")
	t.Name = "the site"
	s.count = t.Whole("count", 0, 9, 1)
	s.level = t.Number("level", 1)
	s.on = t.Truth("on", true)
	s.day, _ = t.Day("day")
	s.mode, _ = t.Choice("mode", "slow", "fast")
	s.share = t.Within("share", 0, 1, 0)
	s.span = t.AboveZero("span", 100, 1)
	t.Ask("from")
	if t.Has("from") {
		t.NeedBeside("from", "to")
	}
	t.Ask("to")
}

func TestGood(t *testing.T) {
	got, err := read(good)
	if err != nil {
		t.Fatal(err)
	}
	ids := got.ids
	got.ids = nil
	if !slices.Equal(ids, []int64{1, 11, 2, 21, 22}) {
		t.Errorf("got %v, want the parts in the order of the file", ids)
	}
	if got.name != "Bench" || got.day != "2031-03-01" || got.mode != "slow" || got.count != 7 || got.level != 2.5 ||
		got.share != 0.5 || got.span != 10 || got.lowest != 0 || !got.on {
		t.Errorf("got %+v", got)
	}
}

// Some editors put a byte order mark before the text.
func TestByteOrderMark(t *testing.T) {
	got, err := read("\ufeff" + good)
	if err != nil || got.name != "Bench" || got.count != 7 {
		t.Errorf("got %+v, %v", got, err)
	}
	_, err = read("\ufeffsite = { name = \"b\", count = 70 }\n")
	if want := "f.toml:1:30: site.count: got 70, want a whole number from 0 to 9"; err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

func TestDefaults(t *testing.T) {
	got, err := read("site = { name = \"b\" }\n")
	if err != nil || got.count != 1 || got.level != 1 || !got.on || got.day != "" || got.mode != "" || got.share != 0 || got.span != 1 || got.ids != nil {
		t.Errorf("got %+v, %v", got, err)
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"top-level key misspelt", "[site]", "[sight]", `1:2: unknown key "sight" in the top level of the file: known are site, unit`},
		{"top-level key near", "[[unit]]\nid = 2", "[[units]]\nid = 2", `17:3: unknown key "units" in the top level of the file: did you mean "unit"?`},
		{"key near", "count = 7", "colour = 7\nkount = 7", `4:1: unknown key "kount" in the site: did you mean "count"?`},
		{"key like no other", "count = 7", "colour = 7", `3:1: unknown key "colour" in the site: known are count, day, from, level, mode, name, on, share, span, to`},
		{"key near and a key missing", `name = "Bench"`, `nam = "Bench"`, `2:1: unknown key "nam" in the site: did you mean "name"?`},
		{"key missing and another too many", `name = "Bench"`, `colour = 7`, `1:2: [site] has no name, want for instance name = "Bench"`},
		{"key of a table within", "  lower = 0", "  highest = 0", `14:3: unknown key "highest" in [unit.range]: known are lower`},
		{"key of an element", "{ id = 22 }", "{ id = 22, colour = 2 }", `20:14: unknown key "colour" in the part: known are id`},
		{"key missing in an element", "{ id = 22 }", "{ }", `20:3: the part has no id, want for instance id = 1`},
		{"key missing in a table", "[[unit]]\nid = 2\n", "[[unit]]\n", `17:3: [[unit]] has no id, want for instance id = 1`},
		{"key missing in a table of a table", "  id = 11\n", "", `15:10: [[unit.part]] has no id, want for instance id = 1`},
		{"key without its other", "count = 7", "from = 7", `3:8: from stands without a to, want both`},
		{"text", `"Bench"`, "[]", `2:8: site.name: got an array, want a string`},
		{"whole", "count = 7", "count = 0x0A", `3:9: site.count: got 0x0A, want a whole number from 0 to 9`},
		{"whole with a point", "count = 7", "count = 7.0", `3:9: site.count: got 7.0, want a whole number from 0 to 9`},
		{"number", "level = 2.5", "level = inf", `4:9: site.level: got inf, want a number`},
		{"number as a table", "level = 2.5", "level = {}", `4:9: site.level: got a table, want a number`},
		{"truth", "on = true", `on = "é"`, `5:6: site.on: got the string "é", want true or false`},
		{"day", "day = 2031-03-01", "day = 3", `6:7: site.day: got 3, want a string`},
		{"choice near", `"slow"`, `"slov"`, `7:8: mode "slov" is unknown: did you mean "slow"?`},
		{"choice like no other", `"slow"`, `"blue"`, `7:8: mode "blue" is unknown, want one of slow, fast`},
		{"within", "share = 0.5", "share = 1.5", `8:9: site.share: got 1.5, want 0 to 1`},
		{"above zero", "span = 10", "span = 0", `9:8: site.span: got 0, want more than 0 and at most 100`},
		{"sub", "  [unit.range]\n  lower = 0", "  range = 5", `13:11: range: got 5, want a table`},
		{"each in single brackets", "[[unit.part]]", "[unit.part]", `15:9: [unit.part] stands in single brackets, want [[unit.part]]: there may be several`},
		{"each of a number", "  [[unit.part]]\n  id = 11\n", "[[unit]]\npart = 3\nid = 3\n", `16:8: part: got 3, want tables under [[unit.part]]`},
		{"each of numbers", "  [[unit.part]]\n  id = 11\n", "[[unit]]\npart = [{ id = 3 }, 4]\nid = 3\n", `16:21: this is no table, want tables under [[unit.part]]`},
		{"list of numbers", "{ id = 22 }", "22", `20:3: this is no part, want for instance { id = 1 }`},
		{"list as a table", "parts = [ { id = 21 },\n  { id = 22 } ]", "parts = { id = 21 }", `19:9: parts: got a table, want a list, for instance parts = [ { id = 1 } ]`},
		{"place of a path", "id = 2\n", "id = 2\nother = 1\n", `21:10: this is the place`},
		{"place of a path that leads nowhere", "  { id = 22 } ]", "]\nother = 1", `17:3: this is the place`},
		{"both keys that want each other", "count = 7", "from = 7\nto = 8\ncolour = 7", `5:1: unknown key "colour" in the site: known are count, day, from, level, mode, name, on, share, span, to`},
		{"the first of two", "count = 7\nlevel = 2.5", "count = 70\nlevel = nan", `3:9: site.count: got 70, want a whole number from 0 to 9`},
		{"lines that end in two characters", "count = 7\n", "count = 7\r\ncolour = 1\r\n", `4:1: unknown key "colour" in the site: known are count, day, from, level, mode, name, on, share, span, to`},
		{"no TOML", "count = 7", "count = ", `3:9: this is no TOML: unexpected character U+000A at start of value`},
		{"number in a table within", "  lower = 0", "  lower = true", `14:11: range.lower: got true, want a number`},
		{"byte order mark before the first key", "[site]", "\ufeff[sight]", `1:2: unknown key "sight" in the top level of the file: known are site, unit`},
		{"byte order mark before no TOML", "[site]", "\ufeffsite]", `1:5: this is no TOML: expected '=' after key`},
		{"key twice", "count = 7", "count = 7\ncount = 8", `4:1: this is no TOML: key count is already defined`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if n := strings.Count(good, c.old); n != 1 {
				t.Fatalf("%q stands %d times in the good file, want once", c.old, n)
			}
			_, err := read(strings.Replace(good, c.old, c.new, 1))
			var e *userfile.Error
			if !errors.As(err, &e) || err.Error() != "f.toml:"+c.want {
				t.Errorf("got  %v\nwant f.toml:%s", err, c.want)
			}
		})
	}
}

func TestKeysAndLines(t *testing.T) {
	top, err := userfile.Parse("f", []byte("b = 1\na.c = 2\n\n[z]\n[d]\ny.x = 1\n"), "a", "b", "d", "z")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Join(top.Keys(), " "), "b a z d"; got != want {
		t.Errorf("got keys %s, want %s", got, want)
	}
	for path, want := range map[string]int{"": 1, "b": 1, "a": 2, "a.c": 2, "z": 4, "d": 5, "d.y.x": 6} {
		if got := top.Line(path); got != want {
			t.Errorf("%q: got line %d, want %d", path, got, want)
		}
	}
	if top.Has("c") || top.Value("c") != nil || top.Value("b") != int64(1) {
		t.Errorf("got c %v, b %v, want nothing and 1", top.Value("c"), top.Value("b"))
	}
}

// What is not there is refused at the innermost table around it.
func TestPlaces(t *testing.T) {
	text := "a = { b = { c = 1 } }\n[[d]]\n[[d.e]]\n[[d.e]]\nf = [ { g = 1 },\n { h = 2 } ]\n"
	for path, want := range map[string]string{
		"a": "1:5", "a.b": "1:11", "a.b.c": "1:17", "a.b.x": "1:11", "a.x": "1:5", "a.x.y": "1:5", "x": "1:1", "": "1:1",
		"d": "2:3", "d[0]": "2:3", "d[0].e": "3:5", "d[0].e[1]": "4:5", "d[0].e[1].x": "4:5", "d[0].x": "2:3",
		"d[0].e[1].f": "5:5", "d[0].e[1].f[0]": "5:7", "d[0].e[1].f[0].g": "5:13", "d[0].e[1].f[1]": "6:2",
		"d[0].e[1].f[1].h": "6:8", "d[0].e[1].f[1].x.y": "6:2",
	} {
		top, err := userfile.Parse("f", []byte(text), "a", "d")
		if err != nil {
			t.Fatal(err)
		}
		top.Refuse(path, errors.New("here"))
		if got := top.End().Error(); got != "f:"+want+": here" {
			t.Errorf("%q: got %s, want f:%s: here", path, got, want)
		}
	}
}

func TestErrorKeepsItsCause(t *testing.T) {
	top, err := userfile.Parse("f", nil)
	if err != nil {
		t.Fatal(err)
	}
	cause := errors.New("cause")
	top.Refuse("", cause)
	if err := top.End(); !errors.Is(err, cause) || err.Error() != "f:1:1: cause" {
		t.Errorf("got %v, want f:1:1: cause", err)
	}
}
