package vector

import (
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"looptone/frame"
)

const good = "# a comment\nsource: constructed\nexpect: noise\n\nwire: ff 80pg | 01 /\nwire: 02f _ 03\n"

func TestReadVector(t *testing.T) {
	vectors, err := Read(fstest.MapFS{"b.txt": {Data: []byte(good)}, "readme": {Data: []byte("no vector")}})
	if err != nil || len(vectors) != 1 {
		t.Fatalf("got %d vectors and %v, want 1", len(vectors), err)
	}
	v := vectors[0]
	if diff := cmp.Diff([]byte{0xff, 0x80, 0x01, 0x02, 0x03}, v.Chars); diff != "" {
		t.Errorf("characters: %s", diff)
	}
	marks := []frame.MarkAt{
		{Pos: 1, Mark: frame.Parity | frame.Gap}, {Pos: 3, Mark: frame.Line | frame.Framing}, {Pos: 4, Mark: frame.Cut},
	}
	if diff := cmp.Diff(marks, v.Marks); diff != "" {
		t.Errorf("marks: %s", diff)
	}
	if diff := cmp.Diff([]int{2}, v.Bars); diff != "" {
		t.Errorf("bars: %s", diff)
	}
	if value, ok := v.Value("expect"); value != "noise" || !ok {
		t.Errorf("expect: got %q, %t", value, ok)
	}
	if _, ok := v.Value("at"); ok {
		t.Error("a key that is not there was found")
	}
	if diff := cmp.Diff([]string{"source"}, v.Unread()); diff != "" {
		t.Errorf("unread keys: %s", diff)
	}
}

func TestReadVectorRefuses(t *testing.T) {
	for text, want := range map[string]string{
		good + "colour: red\n":                   `x.txt:7: unknown key "colour"`,
		good + "expect: frame\n":                 `x.txt:7: key "expect" a second time`,
		good + "nonsense\n":                      `x.txt:7: "nonsense" is neither a comment nor key: value`,
		good + "wire: f\n":                       `x.txt:7: "f" is no character of two hex digits`,
		good + "wire: zz\n":                      `x.txt:7: "zz" is no character of two hex digits`,
		good + "wire: 80x\n":                     `x.txt:7: "80x" carries an unknown mark 'x'`,
		"expect: noise\nwire: 00\n":              `x.txt:2: no source`,
		"source: constructed\nwire: 00\n":        `x.txt:2: no expect`,
		"source: constructed\nexpect: noise\n\n": `x.txt:3: no wire`,
	} {
		_, err := Read(fstest.MapFS{"x.txt": {Data: []byte(text)}})
		if err == nil || err.Error() != want {
			t.Errorf("got  %v\nwant %s", err, want)
		}
	}
}
