package capture

import (
	"strings"
	"testing"
	"time"

	"looptone/frame"
)

func TestLog(t *testing.T) {
	const stamped = `^(?P<time>\S+) (?P<direction>in|out):? (?P<hex>[0-9a-f ]+)$`
	checkCases(t, []csvCase{
		{"RFC 3339", "2031-03-01T03:10:07.120+01:00 out ff ff 02\nopened\n2031-03-01T03:10:07.150+01:00 out 80\n2031-03-01T03:10:09+01:00 in: 8000\n", Options{Pattern: stamped},
			"log: time, direction and hex of each match of the pattern",
			[]string{"0: [ff ff 02] from 0s to 27.5ms, since 2031-03-01T03:10:07.12+01:00", "0: [80] from 30ms to 39.167ms, line at 3, since 2031-03-01T03:10:07.12+01:00",
				"1: [80 00] from 1.88s to 1.898333s, since 2031-03-01T03:10:07.12+01:00", "1 of 4 lines do not match the pattern"}},
		{"time of day over midnight", "23:59:59,990 out ff\n00:00:00,500 out 02\n", Options{Pattern: stamped}, "log: time, direction and hex of each match of the pattern",
			[]string{"0: [ff] from 23h59m59.99s to 23h59m59.999167s", "0: [02] from 24h0m0.5s to 24h0m0.509167s, cut at 1", "0 of 2 lines do not match the pattern"}},
		{"over midnight, one direction a little behind", "23:59:59.9 out ff\n00:00:00.1 out 02\n23:59:59.95 in 03\n00:00:01 in 04\n", Options{Pattern: stamped}, "log: time, direction and hex of each match of the pattern",
			[]string{"0: [ff] from 23h59m59.9s to 23h59m59.909167s", "0: [02] from 24h0m0.1s to 24h0m0.109167s, cut at 1", "1: [03] from 23h59m59.95s to 23h59m59.959167s",
				"1: [04] from 24h0m1s to 24h0m1.009167s, cut at 1", "0 of 4 lines do not match the pattern"}},
		{"seconds", "0.25 in ff\n0.5 in 02\n", Options{Pattern: stamped, As: "log"}, "log: time, direction and hex of each match of the pattern",
			[]string{"0: [ff] from 250ms to 259.167ms", "0: [02] from 500ms to 509.167ms, cut at 1", "0 of 2 lines do not match the pattern"}},
		{"several in a line, no time", "got <ff,0xff,02> and <80:00>\r\n<01>", Options{Pattern: "<(?P<hex>[^>]+)>"}, "log: hex of each match of the pattern",
			[]string{"0: [ff ff 02] from ? to ?", "0: [80 00] from ? to ?, line at 3", "0: [01] from ? to ?, line at 5", "0 of 2 lines do not match the pattern"}},
	})
}

// Nobody knows at which end of a message a log tells the time.
func TestLogTimesMayBeLate(t *testing.T) {
	rd, _, err := OpenWith(strings.NewReader("0.25 ff ff 02 80\n"), "trace.txt", Options{Pattern: `^(?P<time>\S+) (?P<hex>.*)`})
	if err != nil {
		t.Fatal(err)
	}
	var rec Record
	if err := rd.Next(&rec); err != nil {
		t.Fatal(err)
	}
	if want := 10*time.Millisecond + frame.Characters(4); rec.Late != want {
		t.Errorf("late: got %v, want %v", rec.Late, want)
	}
}

func TestNoColumnsToChoose(t *testing.T) {
	for text, what := range map[string]string{"looptone capture 1 *6791\n": "looptone capture", `{"event":"frame","start":0,"frame":"02"}`: "JSON lines of decoding"} {
		want := "trace.txt is " + what + ", which has no columns to choose"
		if got, _ := saidOf(text, Options{Columns: "hex=1"}); got[0] != want {
			t.Errorf("got  %s\nwant %s", got[0], want)
		}
	}
}

func TestWrongLog(t *testing.T) {
	for _, tt := range []struct{ text, pattern, want string }{
		{"a 0f\na 0f1\n", "a (?P<hex>.*)", `trace.txt:2:3: "0f1" is no hex byte: want two hex digits a character`},
		{"a 0f\na  -\n", "a (?P<hex>.*)", "trace.txt:2:4: group hex holds no character"},
		{"5 0f\n4 0f\n", "(?P<time>.) (?P<hex>.*)", "trace.txt:2:1: time lies before that of the match in front of it: want a log in the order of times"},
		{"x 0f\n", "(?P<time>.) (?P<hex>.*)", `trace.txt:1:1: "x" is no time: want a number, 2031-03-01T03:10:07.12Z or 03:10:07.12`},
		{"25:00:00 0f\n", "(?P<time>.*) (?P<hex>.*)", `trace.txt:1:1: "25:00:00" is no time: want a number, 2031-03-01T03:10:07.12Z or 03:10:07.12`},
		{"0f", "(?P<bytes>.*)", `--pattern has a group "bytes": want time, direction and hex`},
		{"0f", "(.*)", "--pattern has no group (?P<hex>…) for the characters"},
		{"0f", "(?P<hex>.*", "--pattern: error parsing regexp: missing closing ): `(?P<hex>.*`"},
		{"0f", "", "a log wants --pattern, a regular expression that finds (?P<hex>…) in a line"},
	} {
		got, _ := saidOf(tt.text, Options{As: "log", Pattern: tt.pattern})
		if last := got[len(got)-1]; last != tt.want {
			t.Errorf("%q:\ngot  %s\nwant %s", tt.text, last, tt.want)
		}
	}
}

func TestOptionsThatDoNotGoTogether(t *testing.T) {
	for _, tt := range []struct {
		options Options
		want    string
	}{
		{Options{As: "hex", Columns: "time=1"}, "--columns is for CSV and VCD, not for hex"},
		{Options{As: "csv", Pattern: "(?P<hex>.*)"}, "--pattern is for a log, not for csv"},
		{Options{Columns: "time=1", Pattern: "(?P<hex>.*)"}, "--pattern is for a log, which has neither columns nor levels"},
		{Options{As: "raw", Inverted: true}, "--invert-levels is for CSV and VCD, not for raw"},
		{Options{Columns: "hex=1", As: "csv"}, "0: [ff ff] from ? to ?"},
		{Options{Inverted: true}, "trace.txt is hex text, which has no levels to invert"},
	} {
		if got, _ := saidOf("ff ff", tt.options); got[0] != tt.want {
			t.Errorf("%+v:\ngot  %s\nwant %s", tt.options, got[0], tt.want)
		}
	}
}
