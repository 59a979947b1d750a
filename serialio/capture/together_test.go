package capture

import (
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// togetherOf is what several texts yield together.
func togetherOf(t *testing.T, texts ...string) (out []string) {
	t.Helper()
	var readers []Reader
	for i, text := range texts {
		rd, _, err := Open(strings.NewReader(text), string(rune('a'+i)), "")
		if err != nil {
			t.Fatal(err)
		}
		readers = append(readers, rd)
	}
	all := Together(readers...)
	for rec := new(Record); ; {
		err := all.Next(rec)
		if err == io.EOF {
			return out
		}
		if err != nil {
			if again := all.Next(rec); again != err {
				t.Errorf("got %v, then %v", err, again)
			}
			return append(out, err.Error())
		}
		out = append(out, sayRecord(rec))
		if rec.Streams < len(texts) {
			t.Errorf("%s: got %d streams, want %d", sayRecord(rec), rec.Streams, len(texts))
		}
	}
}

func TestTogether(t *testing.T) {
	const host = "time,data\n0.0,01\n0.5,02\n"
	dated := func(clock string) string { return "time,data\n2031-03-01T03:10:" + clock + ",07\n" }
	for _, tt := range []struct {
		name  string
		texts []string
		want  []string
	}{
		{"in the order of times", []string{host, "time,data\n0.2,03\n0.9,04\n"}, []string{
			"0: [01] from 0s to 9.167ms", "1: [03] from 200ms to 209.167ms", "0: [02] from 500ms to 509.167ms, cut at 1", "1: [04] from 900ms to 909.167ms, cut at 1"}},
		{"several streams in one", []string{"time,stream,data\n0.0,x,01\n0.5,y,02\n", "time,data\n0.2,03\n"}, []string{
			"0: [01] from 0s to 9.167ms", "1: [03] from 200ms to 209.167ms", "2: [02] from 500ms to 509.167ms"}},
		{"by their clocks", []string{dated("07.5Z"), dated("07.2Z")}, []string{
			"1: [07] from -300ms to -290.833ms, since 2031-03-01T03:10:07.5Z", "0: [07] from 0s to 9.167ms, since 2031-03-01T03:10:07.5Z"}},
		{"a clock in one only", []string{dated("07Z"), host}, []string{
			"b:2:5: character has a time by the wall clock and those of another capture are without, or the other way round: nobody knows what was at the same time"}},
		{"no times", []string{host, "ff ff 02"}, []string{
			"b:1:1: character has no time, and captures are read together in the order of times"}},
		{"one that is wrong", []string{host, "time,data\n0.0,03\n0.2,0g\n"}, []string{
			"0: [01] from 0s to 9.167ms", "1: [03] from 0s to 9.167ms", `b:3:5: "0g" is no hex byte: want two hex digits a character`}},
	} {
		if d := cmp.Diff(tt.want, togetherOf(t, tt.texts...)); d != "" {
			t.Errorf("%s: (- want, + got)\n%s", tt.name, d)
		}
	}
}
