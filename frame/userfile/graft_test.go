package userfile_test

import (
	"errors"
	"testing"

	"looptone/frame/userfile"
)

// grafted is the good file with the value under "to" of a JSON object at the path
// under "set" below the second unit, or below the site.
func grafted(action, below string) (s site, err error) {
	top, err := userfile.Parse("f.toml", []byte(good), "site", "unit")
	if err != nil {
		return s, err
	}
	from, err := userfile.ParseJSONLine("a.json", 3, []byte(action))
	if err != nil {
		return s, err
	}
	path, _ := from.Text("set")
	to, _ := from.Ask("to")
	graft := func(t *userfile.Table, read func(t *userfile.Table)) {
		new, e := t.Graft(path, to, from, "set", "to")
		if e != nil {
			err = e
			return
		}
		read(new)
		err = new.End()
	}
	if below == "site" {
		top.Sub("site", func(t *userfile.Table) { graft(t, s.read) })
		return s, err
	}
	n := 0
	top.Each("unit", func(t *userfile.Table) {
		if n++; n == 2 {
			graft(t, s.unit)
		}
	})
	return s, err
}

func TestGraft(t *testing.T) {
	got, err := grafted(`{"set": "count", "to": 8}`, "site")
	if err != nil || got.count != 8 || got.name != "Bench" {
		t.Errorf("got %+v, %v, want count 8 and the rest as it was", got, err)
	}
	got, err = grafted(`{"set": "range.lower", "to": -3}`, "unit")
	if err != nil || got.lowest != -3 || len(got.ids) != 3 {
		t.Errorf("got %+v, %v, want a range that was not there", got, err)
	}
	got, err = grafted(`{"set": "parts[1].id", "to": 23}`, "unit")
	if err != nil || len(got.ids) != 3 || got.ids[1] != 21 || got.ids[2] != 23 {
		t.Errorf("got %+v, %v, want the second part to be 23", got, err)
	}
	again, err := read(good)
	if err != nil || again.count != 7 {
		t.Errorf("got %+v, %v: the file itself has changed", again, err)
	}
}

func TestRefusalsOfGrafts(t *testing.T) {
	for _, c := range []struct{ below, action, want string }{
		{"site", `{"set": "count", "to": 10}`, "a.json:3:24: site.count: got 10, want a whole number from 0 to 9"},
		{"site", `{"set": "kount", "to": 1}`, `a.json:3:9: unknown key "kount" in the site: did you mean "count"?`},
		{"site", `{"set": "from", "to": 1}`, `a.json:3:23: from stands without a to, want both`},
		{"site", `{"set": "name.first", "to": 1}`, `name.first is not there, what is before it is no table`},
		{"site", `{"set": "", "to": 1}`, `path "" has a name that is empty, want for instance range.upper`},
		{"site", `{"set": "count..x", "to": 1}`, `path "count..x" has a name that is empty, want for instance range.upper`},
		{"unit", `{"set": "range", "to": {"lower": "x"}}`, `a.json:3:34: range.lower: got the string "x", want a number`},
		{"unit", `{"set": "range", "to": {"lower": 1, "uper": 1}}`, `a.json:3:37: unknown key "uper" in "unit.range": known are lower`},
		{"unit", `{"set": "parts[1].x", "to": 0}`, `a.json:3:9: unknown key "x" in the part: known are id`},
		{"unit", `{"set": "parts[2].id", "to": 0}`, `parts[2] is not there, want parts[0] to parts[1]`},
		{"unit", `{"set": "parts[0].id[1]", "to": 0}`, `parts[0].id[1] is not there, want the whole of parts[0].id: it has no elements`},
		{"unit", `{"set": "none[0].id", "to": 0}`, `none[0] is not there, want the whole of none: it has no elements`},
		{"unit", `{"set": "parts[x].id", "to": 0}`, `path "parts[x].id" has no number in brackets, want for instance burst[0].every`},
		{"unit", `{"set": "parts[1]id", "to": 0}`, `path "parts[1]id" has no number in brackets, want for instance burst[0].every`},
		{"unit", `{"set": "parts[1", "to": 0}`, `path "parts[1" has no number in brackets, want for instance burst[0].every`},
		{"unit", `{"set": "parts", "to": [{"id": 100}]}`, `a.json:3:32: id: got 100, want a whole number from 0 to 99`},
	} {
		_, err := grafted(c.action, c.below)
		if err == nil || err.Error() != c.want {
			t.Errorf("%s\ngot  %v\nwant %s", c.action, err, c.want)
		}
	}
}

// Any path, any value: no panic, and what is refused has a place in the text that
// gave it.
func FuzzGraft(f *testing.F) {
	f.Add("count", "8")
	f.Add("parts[1].id", `{"a": [1, {"id": null}]}`)
	f.Add("a[0][1].b", "[]")
	f.Fuzz(func(t *testing.T, path, value string) {
		top, err := userfile.Parse("f.toml", []byte(good), "site", "unit")
		if err != nil {
			t.Fatal(err)
		}
		text := `{"set": 0, "to": ` + value + `}`
		from, err := userfile.ParseJSON("a.json", []byte(text))
		if err != nil {
			return
		}
		to, _ := from.Ask("to")
		var s site
		read := func(table *userfile.Table) {
			new, err := table.Graft(path, to, from, "set", "to")
			if err != nil {
				return
			}
			s.unit(new)
			var e *userfile.Error
			if err := new.End(); err != nil && (!errors.As(err, &e) || e.Line < 1 || e.Column < 1) {
				t.Fatalf("%s to %s: got error %v, want one with a place", path, value, err)
			}
		}
		top.Sub("site", read)
		top.Each("unit", read)
	})
}
