package userfile

import "testing"

func TestAtAndPrune(t *testing.T) {
	table, err := Parse("f", []byte("a = 1\nb = { c = 2 }\nd = [ { e = 3 }, { e = 4 } ]\n"), "a", "b", "d")
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]any{"a": int64(1), "b.c": int64(2), "d[1].e": int64(4),
		"x": nil, "b.x": nil, "a.x": nil, "d[2].e": nil, "d[x]": nil, "": nil, "b[0]": nil} {
		if got, ok := table.At(path); got != want || ok != (want != nil) {
			t.Errorf("%q: got %v, %v, want %v", path, got, ok, want)
		}
	}
	if pruned := table.Prune("b"); pruned.Has("b") || !pruned.Has("a") || !table.Has("b") {
		t.Error("b is pruned from the copy, and from nothing else")
	}
}
