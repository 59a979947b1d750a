package userfile_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"looptone/frame/userfile"
)

// readJSON reads an object like the good file.
func readJSON(text string) (s site, err error) {
	top, err := userfile.ParseJSON("f.json", []byte(text), "site", "unit")
	if err != nil {
		return s, err
	}
	return s.readFrom(top)
}

const goodJSON = `{"site": {"name": "B\u00e9nch", "count": 7, "level": 2.5, "on": true, "mode": "slow",
  "share": 5e-1, "span": 10},
 "unit": [{"id": 1, "range": {"lower": 0}, "part": [{"id": 11}]},
  {"id": 2, "parts": [{"id": 21}, {"id": 22}]}]}
`

func TestGoodJSON(t *testing.T) {
	got, err := readJSON(goodJSON)
	if err != nil {
		t.Fatal(err)
	}
	if got.name != "Bénch" || got.count != 7 || got.level != 2.5 || !got.on || got.mode != "slow" || got.share != 0.5 ||
		got.span != 10 || fmt.Sprint(got.ids) != "[1 11 2 21 22]" {
		t.Errorf("got %+v", got)
	}
}

func TestNumbersOfJSON(t *testing.T) {
	top, err := userfile.ParseJSON("f", []byte(`{"a": 9223372036854775807, "b": -9223372036854775808, "c": 1.0, "d": 1e3, "e": -0, "f": null}`))
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]any{"a": int64(math.MaxInt64), "b": int64(math.MinInt64), "c": 1.0, "d": 1000.0, "e": int64(0), "f": nil} {
		if got := top.Value(key); got != want {
			t.Errorf("%s: got %T %v, want %T %v", key, got, got, want, want)
		}
	}
}

func TestRefusalsOfJSON(t *testing.T) {
	deep := strings.Repeat(`[`, 17) + strings.Repeat(`]`, 17)
	for _, c := range []struct{ name, old, new, want string }{
		{"no JSON", `"count": 7`, `"count" 7`, `1:41: this is no JSON: invalid character '7' after object key`},
		{"key without quotes", `"count": 7`, `count: 7`, `1:33: this is no JSON: invalid character 'c' looking for beginning of object key string`},
		{"comma too many", `"span": 10}`, `"span": 10,}`, `2:29: this is no JSON: invalid character '}' looking for beginning of object key string`},
		{"number of another language", `"count": 7`, `"count": 0x7`, `1:43: this is no JSON: invalid character 'x' after object key:value pair`},
		{"not a number", `"level": 2.5`, `"level": NaN`, `1:54: this is no JSON: invalid character 'N' looking for beginning of value`},
		{"two objects", goodJSON, `{} {}`, `1:4: this is no JSON: invalid character '{' after top-level value`},
		{"the end is missing", goodJSON, `{"site": {"name": "Bench"}`, `1:27: this is no JSON: unexpected end of JSON input`},
		{"nothing", goodJSON, ``, `1:1: this is no JSON: unexpected end of JSON input`},
		{"a byte that is no text", `5e-1, "span"`, "5e-1, \"s\xffan\"", `2:20: this is no JSON: byte ff is no UTF-8`},
		{"an array", goodJSON, " \n [1]", `2:2: this is no object, want one in braces`},
		{"a number", goodJSON, "7", `1:1: this is no object, want one in braces`},
		{"key twice", `"count": 7`, `"count": 7, "count": 7`, `1:45: key "count" is there twice, want it once`},
		{"key twice in an array", `{"id": 22}`, `{"id": 22, "id": 22}`, `4:46: key "id" is there twice, want it once`},
		{"number too large", `2.5`, `1e999`, `1:54: number 1e999 is too large`},
		{"whole number too large", `"count": 7`, `"count": 9223372036854775808`, `1:42: number 9223372036854775808 is too large`},
		{"number without end", `2.5`, strings.Repeat("9", 1001), `1:54: this number has 1001 bytes, want at most 1000`},
		{"text without end", `"slow"`, `"` + strings.Repeat("x", 1001) + `"`, `1:79: this text has 1001 bytes, want at most 1000`},
		{"key without end", `"mode"`, `"` + strings.Repeat("x", 101) + `"`, `1:71: this key has 101 bytes, want at most 100`},
		{"deep", `2.5`, deep, `1:69: values lie in one another more than 16 deep`},
		{"many", `2.5`, "[" + strings.Repeat("0,", 10_000) + "0]", `1:20045: these are more than 10000 values`},
		{"top-level key misspelt", `"site"`, `"sight"`, `1:2: unknown key "sight" in the object: known are site, unit`},
		{"key near", `"count"`, `"kount"`, `1:33: unknown key "kount" in the site: did you mean "count"?`},
		{"key of an object within", `"lower"`, `"highest"`, `3:31: unknown key "highest" in "unit.range": known are lower`},
		{"key of an element", `{"id": 22}`, `{"id": 22, "colour": 2}`, `4:46: unknown key "colour" in the part: known are id`},
		{"key missing", `"name": "B\u00e9nch", `, ``, `1:2: "site" has no name, want for instance "name": "Bench"`},
		{"key missing in an element", `{"id": 22}`, `{}`, `4:35: the part has no id, want for instance "id": 1`},
		{"object missing", goodJSON, `{"unit": []}`, `1:1: the object has no site, want for instance "site": {"name":"Bench"}`},
		{"text", `"B\u00e9nch"`, `null`, `1:19: site.name: got null, want a string`},
		{"whole", `"count": 7`, `"count": 7.0`, `1:42: site.count: got 7.0, want a whole number from 0 to 9`},
		{"truth", `true`, `{}`, `1:65: site.on: got an object, want true or false`},
		{"object", `{"lower": 0}`, `5`, `3:30: range: got 5, want an object`},
		{"objects", `[{"id": 11}]`, `5`, `3:52: part: got 5, want an array of objects under "unit.part"`},
		{"one object", `[{"id": 11}]`, `{}`, `3:52: part: got an object, want an array of objects under "unit.part"`},
		{"objects that are none", `[{"id": 11}]`, `[5]`, `3:53: this is no object, want an array of objects under "unit.part"`},
		{"list", `[{"id": 21}, {"id": 22}]`, `7`, `4:22: parts: got 7, want a list, for instance "parts": [{"id":1}]`},
		{"list of numbers", `{"id": 22}`, `7`, `4:35: this is no part, want for instance {"id":1}`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if n := strings.Count(goodJSON, c.old); n != 1 {
				t.Fatalf("%q stands %d times in the good text, want once", c.old, n)
			}
			_, err := readJSON(strings.Replace(goodJSON, c.old, c.new, 1))
			var e *userfile.Error
			if !errors.As(err, &e) || err.Error() != "f.json:"+c.want {
				t.Errorf("got  %v\nwant f.json:%s", err, c.want)
			}
		})
	}
}

// JSON that the standard library reads is nested as deep as it likes; the place is
// still in the text.
func TestDepthOfJSON(t *testing.T) {
	for _, n := range []int{17, 1000, 20_000} {
		_, err := userfile.ParseJSON("f", []byte(strings.Repeat(`{"a":`, n)+"1"+strings.Repeat("}", n)))
		var e *userfile.Error
		if !errors.As(err, &e) || e.Line != 1 || e.Column > 5*n+1 {
			t.Errorf("%d deep: got %v, want a place in the text", n, err)
		}
	}
}
