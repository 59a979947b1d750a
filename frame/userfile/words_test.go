package userfile_test

import (
	"errors"
	"strings"
	"testing"

	"looptone/frame/userfile"
)

func TestWords(t *testing.T) {
	top, err := userfile.ParseWords("--fault", ` late reply , device= LT-103,delay_chars = 30,probability=1e-3,name="a, \"b\" ",from=12s,other=103,n=-x,e=`, "kind")
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]any{"kind": "late reply", "device": "LT-103", "delay_chars": int64(30), "probability": 0.001,
		"name": `a, "b" `, "from": "12s", "other": int64(103), "n": "-x", "e": ""} {
		if got := top.Value(key); got != want {
			t.Errorf("%s: got %T %v, want %T %v", key, got, got, want, want)
		}
	}
	if got, ok := top.Text("other"); got != "103" || !ok {
		t.Errorf("other: got %q, want the text 103", got)
	}
}

func TestRefusalsOfWords(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"", "1: there is nothing, want a key and its value, for instance probability=0.1"},
		{"no reply,", "10: there is nothing, want a key and its value, for instance probability=0.1"},
		{"no reply, device", `11: "device" has no value, want for instance probability=0.1`},
		{"no reply, count=1, count=2", `20: key "count" is there twice, want it once`},
		{"late reply device=LT-103 count=3", `1: "late reply device" is no key: want a comma in front of each key, for instance "late reply, device=LT-103"`},
		{"no reply; count=3", `1: "no reply; count" is no key: want a comma in front of each key, for instance "late reply, device=LT-103"`},
		{"no reply, =3", `11: "" is no key: want a comma in front of each key, for instance "late reply, device=LT-103"`},
		{"no reply, kind=x", `11: key "kind" is there twice, want it once`},
		{`no reply, name="x`, `16: "x is no text in quotes, want for instance "LT-103"`},
		{`no reply, name="x"y, count=1`, `16: "x"y is no text in quotes, want for instance "LT-103"`},
		{"no reply, count= 10", "18: count: got 10, want a whole number from 1 to 9"},
		{"no reply, count=x", `17: count: got the string "x", want a whole number from 1 to 9`},
		{"no reply, coun=3", `11: unknown key "coun" in --fault: did you mean "count"?`},
		{"no reply", "1: --fault has no count, want for instance count=3"},
		{"count=3", "1: --fault has no kind, want for instance kind=no reply"},
	} {
		err := func() error {
			top, err := userfile.ParseWords("--fault", c.text, "kind")
			if err != nil {
				return err
			}
			top.Need("kind", `"no reply"`)
			top.Text("kind")
			top.Text("name")
			top.Need("count", "3")
			top.Whole("count", 1, 9, 1)
			return top.End()
		}()
		var e *userfile.Error
		if want := "--fault, column " + c.want; !errors.As(err, &e) || err.Error() != want {
			t.Errorf("%s\ngot  %v\nwant %s", c.text, err, want)
		}
	}
}

// Whatever is refused has a place in the text.
func FuzzParseWords(f *testing.F) {
	f.Add(`late reply, device="LT,103", delay_chars=30`)
	f.Add(`a=1,"b\",=", c`)
	f.Fuzz(func(t *testing.T, text string) {
		top, err := userfile.ParseWords("--flag", text, "kind")
		if err == nil {
			top.Whole("delay_chars", 0, 9, 1)
			err = top.End()
		}
		var e *userfile.Error
		if err != nil && (!errors.As(err, &e) || e.Line != 0 || e.Column < 1 || e.Column > len(text)+1) {
			t.Fatalf("%q: got error %v, want one with a place in the text", text, err)
		}
		if err == nil && strings.TrimSpace(text) == "" {
			t.Fatalf("%q: no error", text)
		}
	})
}

func TestPairs(t *testing.T) {
	top, err := userfile.ParsePairs("--tones", "dc_v=-1.5, shape=sine", "clock_ppm=1000")
	if err != nil {
		t.Fatal(err)
	}
	if shape, _ := top.Text("shape"); top.Number("dc_v", 0) != -1.5 || shape != "sine" || top.End() != nil {
		t.Errorf("got %v and %q, and %v", top.Number("dc_v", 0), shape, top.End())
	}
	for text, want := range map[string]string{
		"dc_v":    `--tones, column 1: "dc_v" has no value, want for instance clock_ppm=1000`,
		"dc_v=1,": `--tones, column 8: there is nothing, want a key and its value, for instance clock_ppm=1000`,
		"a b=3":   `--tones, column 1: "a b" is no key: want a comma in front of each key, for instance "clock_ppm=1000, KEY=VALUE"`,
	} {
		if _, err := userfile.ParsePairs("--tones", text, "clock_ppm=1000"); err == nil || err.Error() != want {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
}
