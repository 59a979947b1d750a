package process_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"looptone/sim"
	"looptone/sim/process"
)

func TestPlayback(t *testing.T) {
	points := []process.Sample{{2 * time.Second, 10}, {4 * time.Second, 30}, {10 * time.Second, 0}}
	tests := []struct {
		at               sim.Tick
		once, repeatedly float64
	}{
		{0, 10, 10}, {1, 10, 10}, {2, 10, 10}, {3, 20, 20}, {4, 30, 30}, {7, 15, 15},
		{10, 0, 10}, {11, 0, 20}, {12, 0, 30}, {15, 0, 15}, {18, 0, 10}, {19, 0, 20},
		{2 + 8*1000, 0, 10}, {4 + 8*1000, 0, 30}, {5 + 8*2000, 0, 25}, {3 + 8*3000, 0, 20},
	}
	once := process.Playback{Points: points}.Course()
	repeatedly := process.Playback{Points: points, Repeat: true}.Course()
	for _, tt := range tests {
		near(t, "once", once.Step(tt.at*sim.Second, 1, 1), tt.once, 1e-12)
		near(t, "repeatedly", repeatedly.Step(tt.at*sim.Second, 1, 1), tt.repeatedly, 1e-12)
	}
}

// However far apart it is asked, a course has the same value at the same time.
func TestPlaybackDoesNotDependOnTheSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := process.Playback{Repeat: rapid.Bool().Draw(t, "repeat")}
		var at time.Duration
		for _, d := range rapid.SliceOfN(rapid.IntRange(1, 5000), 2, 6).Draw(t, "intervals") {
			at += time.Duration(d) * time.Millisecond
			p.Points = append(p.Points, process.Sample{At: at, Value: float64(d)})
		}
		seldom := p.Course()
		var now sim.Tick
		for _, d := range rapid.SliceOfN(rapid.IntRange(1, 20000), 1, 20).Draw(t, "steps") {
			now += sim.Tick(d) * sim.Millisecond
			if got, want := seldom.Step(now, 0, 1), p.Course().Step(now, 0, 1); got != want {
				t.Fatalf("at %v: got %v, want %v", now.Duration(), got, want)
			}
		}
	})
}

func TestParsePlayback(t *testing.T) {
	want := []process.Sample{{0, 12.5}, {1500 * time.Millisecond, -3}, {time.Minute, 1000}}
	for name, text := range map[string]string{
		"bare":            "0,12.5\n1.5,-3\n60,1000\n",
		"header":          "time,value\n0,12.5\n1.5,-3\n60,1e3\n",
		"other header":    "t in s,level\r\n0,12.5\r\n1.5,-3\r\n60,1000\r\n",
		"no last newline": "0,12.5\n1.5,-3\n60,1000",
		"comments":        "# from the logger\n\ntime,value\n0,12.5\n# a pause\n\n1.5,-3\n60,1000\n\n",
		"blanks":          " 0 , 12.5\n 1.5 , -3 \n 60\t, 1000\n",
		"quotes":          "\"0\",\"12.5\"\n\"1.5\",\"-3\"\n\"60\",\"1000\"\n",
		"semicolons":      "Zeit;Wert\n0;12,5\n1,5;-3\n60;1000,0\n",
		"points":          "0;12.5\n1.5;-3\n60;1000\n",
		"byte order mark": "\ufeff0;12,5\n1,5;-3\n60;1000\n",
		"dates":           "2031-03-01T23:59:59Z,12.5\n2031-03-02T00:00:00.5Z,-3\n2031-03-02T01:00:59+01:00,1000\n",
	} {
		t.Run(name, func(t *testing.T) {
			got, err := process.ParsePlayback("level.csv", []byte(text))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(&process.Playback{Points: want}, got); diff != "" {
				t.Errorf("want -, got +:\n%s", diff)
			}
			if err := got.Check(0); err != nil {
				t.Error(err)
			}
		})
	}
}

// One line of numbers is a row.
func TestParsePlaybackOfOneRow(t *testing.T) {
	for text, want := range map[string]process.Sample{
		"0,0": {}, "0;0": {}, "0,12.5\n": {Value: 12.5}, "00;-,5": {Value: -0.5},
	} {
		got, err := process.ParsePlayback("level.csv", []byte(text))
		if err != nil || len(got.Points) != 1 || got.Points[0] != want {
			t.Errorf("%q: got %+v, %v, want %+v", text, got, err, want)
		}
	}
}

func TestParsePlaybackRefuses(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"a word", "time,value\n0,12.5\n1,high\n",
			`level.csv:3:3: value: got "high", want a number`},
		{"a gap", "0,12.5\n1,\n2,13\n",
			"level.csv:2:3: value: got nothing, want a number; leave the row out for a straight line over the gap"},
		{"a gap in times", "0,12.5\n,13\n",
			"level.csv:2:1: time: got nothing, want seconds, or a date and time such as 2031-03-01T03:10:07Z"},
		{"a word for a time", "0,12.5\nnoon,13\n",
			`level.csv:2:1: time: got "noon", want seconds, or a date and time such as 2031-03-01T03:10:07Z`},
		{"a column missing", "time,value\n0,12.5\n1\n",
			"level.csv:3:1: row: got 1 column, want 2: time and value, for instance 0.0,12.5"},
		{"a column too many", "0,12.5,bar\n",
			"level.csv:1:1: row: got 3 columns, want 2: time and value; with a decimal comma in numbers, semicolons between columns"},
		{"a column too many, semicolons", "# level\n0;12,5;13\n",
			"level.csv:2:1: row: got 3 columns, want 2: time and value"},
		{"a time twice", "0,1\n# pause\n1,2\n1.0,3\n",
			"level.csv:4:1: time: got 1.0, want a later one than in line 3"},
		{"times fall", "0,1\n5,2\n4,3\n",
			"level.csv:3:1: time: got 4, want a later one than in line 2"},
		{"dates fall", "2031-03-01T01:00:00+02:00,1\n2031-02-28T22:00:00Z,2\n",
			"level.csv:2:1: time: got 2031-02-28T22:00:00Z, want a later one than in line 1"},
		{"seconds after a date", "2031-03-01T01:00:00Z,1\n2,2\n",
			`level.csv:2:1: time: got "2", want a date and time, such as 2031-03-01T01:00:00Z, in every row`},
		{"a date after seconds", "0,1\n2031-03-01T01:00:00Z,2\n",
			`level.csv:2:1: time: got "2031-03-01T01:00:00Z", want seconds, as in the first row`},
		{"a day that is not there", "2031-02-29T01:00:00Z,1\n",
			`level.csv:1:1: time: got "2031-02-29T01:00:00Z", want seconds, or a date and time such as 2031-03-01T03:10:07Z`},
		{"a time below 0", "-1,2\n0,3\n",
			"level.csv:1:1: time: got -1, want 0 to 1e+09 seconds of line time"},
		{"seconds of another clock", "1932864000,2\n",
			"level.csv:1:1: time: got 1932864000, want 0 to 1e+09 seconds of line time"},
		{"a time beyond numbers", "1e400,1\n",
			"level.csv:1:1: time: got 1e400, want 0 to 1e+09 seconds of line time"},
		{"a time that is none", "0,1\nNaN,2\n",
			"level.csv:2:1: time: got NaN, want 0 to 1e+09 seconds of line time"},
		{"numbers with blanks, alone", "1 000,2 000\n",
			`level.csv:1:1: time: got "1 000", want seconds, or a date and time such as 2031-03-01T03:10:07Z`},
		{"numbers with apostrophes, first of two", "-1'000;2'000\n5;6\n",
			`level.csv:1:1: time: got "-1'000", want seconds, or a date and time such as 2031-03-01T03:10:07Z`},
		{"words, alone", "time,value", "level.csv:1:1: file: got no rows, want one or more, for instance 0.0,12.5"},
		{"not a number", "0,NaN\n",
			"level.csv:1:3: value: got NaN, want a number that a 32-bit float holds"},
		{"infinity", "0,1\n1,-Inf\n",
			"level.csv:2:3: value: got -Inf, want a number that a 32-bit float holds"},
		{"too large", "0,1e999\n",
			"level.csv:1:3: value: got +Inf, want a number that a 32-bit float holds"},
		{"nothing", "", "level.csv:1:1: file: got no rows, want one or more, for instance 0.0,12.5"},
		{"nothing but a header", "# level\ntime,value\n",
			"level.csv:1:1: file: got no rows, want one or more, for instance 0.0,12.5"},
		{"a stray quote", "0,1\n1,2\"\n",
			`level.csv:2:4: this is no CSV: bare " in non-quoted-field`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := process.ParsePlayback("level.csv", []byte(tt.text))
			if err == nil {
				t.Fatalf("got %+v, want %s", got, tt.want)
			}
			if err.Error() != tt.want {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
			if at := new(process.PlaybackError); !errors.As(err, &at) {
				t.Errorf("got %T, want %T", err, at)
			}
		})
	}
}

// Whatever the file holds, it is refused with a place in it or gives a playback
// that can be used.
func FuzzParsePlayback(f *testing.F) {
	for _, text := range []string{"0,12.5\n1.5,-3\n", "t;v\n0;12,5\n", "2031-03-01T23:59:59Z,1\n", "0,\n", "\"0", "a,b\n1\n"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		p, err := process.ParsePlayback("x.csv", text)
		if err != nil {
			at := new(process.PlaybackError)
			if !errors.As(err, &at) {
				t.Fatalf("got %T (%v), want %T", err, err, at)
			}
			if lines := 1 + strings.Count(string(text), "\n"); at.Line < 1 || at.Line > lines || at.Column < 1 {
				t.Fatalf("got %v, want a place within %d lines", err, lines)
			}
			return
		}
		if err := p.Check(time.Second); err != nil {
			t.Fatal(err)
		}
		p.Course().Step(sim.Second, 1, 1)
	})
}
