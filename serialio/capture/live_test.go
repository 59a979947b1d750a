package capture

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"looptone/frame"
)

// liveSaid is what a Live makes of arrivals, each a time in ms behind the start and what
// came: characters in hex, or "on" or "off" of the carrier; "" asks for silence.
func liveSaid(t *testing.T, arrivals ...any) (said []string) {
	t.Helper()
	began := time.Date(2031, 3, 1, 3, 10, 7, 0, time.UTC)
	l := NewLive(began, []Stream{{Name: "loop", Times: EndTimes, Late: ms(16)}})
	rec := new(Record)
	for i := 0; i < len(arrivals); i += 2 {
		a := frame.Arrival{At: began.Add(ms(arrivals[i].(float64)))}
		switch what := arrivals[i+1].(string); what {
		case "":
			if !l.Silence(0, a.At, rec) {
				said = append(said, "not yet")
				continue
			}
		case "again":
			l.Resumed(0, a.At, rec)
		case "on", "off":
			if a.Carrier = -1; what == "on" {
				a.Carrier = 1
			}
			l.Heard(0, &a, rec)
		default:
			a.Chars = mustHex(t, strings.TrimSuffix(what, "p"))
			if strings.HasSuffix(what, "p") {
				a.Marks = []frame.MarkAt{{Pos: int64(len(a.Chars)) - 1, Mark: frame.Parity}}
			}
			l.Heard(0, &a, rec)
		}
		line := fmt.Sprintf("% x", rec.Chars)
		for _, m := range rec.Marks {
			line += fmt.Sprintf(" %v at %d", m.Mark, m.Pos)
		}
		if rec.Name != "loop" || rec.Streams != 1 || rec.Late != ms(16) || rec.Origin != began {
			t.Errorf("record %+v", rec)
		}
		if end, _ := rec.End.Since(); end != a.At.Sub(began) {
			t.Errorf("ends at %v, want %v", end, a.At.Sub(began))
		}
		if rec.Resumed {
			line += " again"
		}
		said = append(said, strings.TrimSpace(line))
	}
	return said
}

func TestLive(t *testing.T) {
	cut := frame.Cut.String()
	for _, tt := range []struct {
		name     string
		arrivals []any
		want     []string
	}{
		{"what follows at once", []any{100.0, "ffff02", 110.0, "80p"}, []string{"ff ff 02", "80 " + frame.Parity.String() + " at 3"}},
		{"what follows silence", []any{100.0, "ff", 200.0, "02"}, []string{"ff", "02 " + cut + " at 1"}},
		{"silence", []any{100.0, "ff", 150.0, "", 162.0, "", 163.0, "", 200.0, "02", 300.0, ""},
			[]string{"ff", "not yet", cut + " at 1", "", "02", cut + " at 2"}},
		{"a carrier", []any{100.0, "on", 110.0, "ff", 900.0, "", 910.0, "02", 920.0, "off", 921.0, "06", 1000.0, ""},
			[]string{"", "ff", "not yet", "02", cut + " at 2", "06", cut + " at 3"}},
		{"what is heard again", []any{100.0, "ff", 9000.0, "again", 9010.0, "02"}, []string{"ff", cut + " at 1 again", "02"}},
		{"silence from the start", []any{500.0, ""}, []string{""}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if got := liveSaid(t, tt.arrivals...); !slices.Equal(got, tt.want) {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

// A Live makes the records that a reader makes of the file in which the same is recorded.
func TestLiveIsAsTheFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		began := time.Date(2031, 3, 1, 3, 10, 7, 0, time.UTC)
		streams := []Stream{{Name: "host", Times: EndTimes, Late: ms(16)}, {Name: "loop", Times: EndTimes, Parity: true, Via: Wire}}
		var text strings.Builder
		w, err := NewWriter(&text, began, streams)
		if err != nil {
			t.Fatal(err)
		}
		l := NewLive(began, streams)
		now := time.Second
		var want []string
		rec := new(Record)
		for range rapid.IntRange(1, 20).Draw(t, "arrivals") {
			now += time.Duration(rapid.Int64Range(0, 200).Draw(t, "ms later")) * time.Millisecond
			n := uint8(rapid.IntRange(0, 1).Draw(t, "stream"))
			a := frame.Arrival{At: began.Add(now)}
			if change := rapid.IntRange(-1, 3).Draw(t, "carrier"); change == 1 || change == -1 {
				a.Carrier = int8(change)
				err = w.Carrier(n, now, change > 0)
			} else {
				a.Chars = rapid.SliceOfN(rapid.Byte(), 1, 9).Draw(t, "chars")
				if rapid.Bool().Draw(t, "marked") {
					a.Marks = []frame.MarkAt{{Pos: int64(len(a.Chars) - 1), Mark: frame.Gap | frame.Parity}}
				}
				err = w.Heard(n, now, a.Chars, a.Marks)
			}
			if err != nil {
				t.Fatal(err)
			}
			l.Heard(n, &a, rec)
			want = append(want, sayOfLive(rec))
		}
		if err := w.End(); err != nil {
			t.Fatal(err)
		}
		rd, _, err := Open(strings.NewReader(text.String()), "trace.txt", "")
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for rd.Next(rec) == nil {
			got = append(got, sayOfLive(rec))
		}
		if !slices.Equal(got, want) {
			t.Fatalf("the file says\n%s\nas it comes\n%s\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"), text.String())
		}
	})
}

func sayOfLive(r *Record) string {
	return fmt.Sprintf("%d %s of %d: %s to %s late %v parity %v via %d: % x carrier %d marks%s origin %v", r.Stream, r.Name, r.Streams,
		sayStamp(r.Start), sayStamp(r.End), r.Late, r.Parity, r.Via, r.Chars, r.Carrier, saidMarks(r.Marks, 0, 0), r.Origin.Format(time.RFC3339Nano))
}
