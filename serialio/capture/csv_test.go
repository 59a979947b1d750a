package capture

import (
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// saidOf is what a reader yields, a line a record, and behind it an error but the end.
func saidOf(text string, o Options) (out []string, what string) {
	rd, what, err := OpenWith(strings.NewReader(text), "trace.txt", o)
	if err != nil {
		return []string{err.Error()}, what
	}
	for rec := new(Record); ; {
		if err = rd.Next(rec); err != nil {
			break
		}
		out = append(out, sayRecord(rec))
	}
	if err != io.EOF {
		out = append(out, err.Error())
	}
	if t, ok := rd.(interface{ Told() string }); ok && t.Told() != "" && err == io.EOF {
		out = append(out, t.Told())
	}
	return out, what
}

type csvCase struct {
	name, text string
	options    Options
	what       string
	want       []string
}

func checkCases(t *testing.T, cases []csvCase) {
	t.Helper()
	for _, tt := range cases {
		got, what := saidOf(tt.text, tt.options)
		if what != tt.what {
			t.Errorf("%s:\ngot  %s\nwant %s", tt.name, what, tt.what)
		}
		if d := cmp.Diff(tt.want, got); d != "" {
			t.Errorf("%s: (- want, + got)\n%s", tt.name, d)
		}
	}
}

func TestCSVOfCharacters(t *testing.T) {
	two := []string{"0: [ff] from 0s to 9.167ms", "0: [02] from 10ms to 19.167ms"}
	checkCases(t, []csvCase{
		{"plain", "time,hex\n0.000,ff\n0.010,02\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)", two},
		{"decimal commas, units in a row, a preamble", "\ufeffrecorded;this afternoon\r\nby;nobody\r\n\r\nTime;Data\r\nms;\r\n0,000;FF\r\n10,000;02\r\n", Options{},
			"CSV of decoded characters: time in column 1 (ms), data in column 2 (hex)", two},
		{"tabs and a unit in the header", "Start (µs)\tDuration (µs)\tValue\n0\t9167\t0xFF\n1e4\t9167\t0x02\n", Options{},
			"CSV of decoded characters: time in column 1 (µs), data in column 3 (hex)", two},
		{"decimal numbers", "value,time\n255,0.000\n2,0.010\n", Options{}, "CSV of decoded characters: time in column 2 (s), data in column 1 (decimal)", two},
		{"decimal numbers that look like hex", "time,byte (dec)\n0.000,10\n0.010,11\n", Options{},
			"CSV of decoded characters: time in column 1 (s), data in column 2 (decimal)",
			[]string{"0: [0a] from 0s to 9.167ms", "0: [0b] from 10ms to 19.167ms"}},
		{"quoted, with a comma in a number and one in a character", "\"Time, or so\",\"char\"\n\"0,000\",\"'\\xff'\"\n\"0,010\",\",\"\n\"0,020\",\"\"\"\"\n", Options{},
			"CSV of decoded characters: time in column 1 (s), data in column 2 (as themselves)",
			[]string{"0: [ff] from 0s to 9.167ms", "0: [2c] from 10ms to 19.167ms", "0: [22] from 20ms to 29.167ms"}},
		{"errors", "time,data,parity error,framing error,error\n0.000,ff,,,\n0.010,02,1,no,\n0.020,80,false,yes,\n0.030,,,,break\n0.040,,,,\n0.050,01,,,parity + framing\n", Options{},
			"CSV of decoded characters: time in column 1 (s), data in column 2 (hex), errors in column 3, 4, 5",
			[]string{"0: [ff] from 0s to 9.167ms", "0: [02] from 10ms to 19.167ms, parity at 1", "0: [80] from 20ms to 29.167ms, framing at 2",
				"0: [00] from 30ms to 39.167ms, framing at 3", "0: [01] from 50ms to 59.167ms, parity, framing, gap at 4", "rows without a character, which were passed over: 1"}},
		{"marks tell all", "time,stream,hex,marks\n0.000000,0,ff,\n1.000000,0,02,g\n,1,80,\n2.000000,0,80,\"p f cut\"\n", Options{},
			"CSV of decoded characters: time in column 1 (s), data in column 3 (hex), stream in column 2, marks in column 4",
			[]string{"0: [ff] from 0s to 9.167ms", "0: [02] from 1s to 1.009167s, gap at 1", "1: [80] from ? to ?", "0: [80] from 2s to 2.009167s, parity, framing, cut at 2"}},
		{"directions, pauses", "direction;time;data\nrx;0,0000;ff\ntx;0,0010;02\nrx;0,0300;80\nrx;0,1000;81\n", Options{},
			"CSV of decoded characters: time in column 2 (s), data in column 3 (hex), stream in column 1",
			[]string{"0: [ff] from 0s to 9.167ms", "1: [02] from 1ms to 10.167ms", "0: [80] from 30ms to 39.167ms, gap at 1", "0: [81] from 100ms to 109.167ms, cut at 2"}},
		{"times too coarse for gaps", "time,data\n0.00,ff\n0.03,02\n0.10,80\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)",
			[]string{"0: [ff] from 0s to 9.167ms", "0: [02] from 30ms to 39.167ms, gap at 1", "0: [80] from 100ms to 109.167ms, cut at 2"}},
		{"whole seconds", "time,data\n0,ff\n0,02\n1,80\n3,01\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)",
			[]string{"0: [ff] from 0s to 9.167ms", "0: [02] from 0s to 9.167ms", "0: [80] from 1s to 1.009167s", "0: [01] from 3s to 3.009167s, cut at 3"}},
		{"messages", "time,bytes\n0.0,ff ff 02\n0.1,80-00 0x00\n1.0,8201\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)",
			[]string{"0: [ff ff 02] from 0s to 27.5ms", "0: [80 00 00] from 100ms to 127.5ms, line at 3", "0: [82 01] from 1s to 1.018333s, cut at 6"}},
		{"no times", "hex\nff\n02\n", Options{As: "csv"}, "CSV of decoded characters: data in column 1 (hex)", []string{"0: [ff] from ? to ?", "0: [02] from ? to ?"}},
		{"wall clock", "time,data\n2031-03-01 03:10:07.120,ff\n2031-03-01 03:10:07.130,02\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)",
			[]string{two[0] + ", since 2031-03-01T03:10:07.12Z", two[1] + ", since 2031-03-01T03:10:07.12Z"}},
		{"over midnight", "time,data\n23:59:59.990,ff\n00:00:00.000,02\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)",
			[]string{"0: [ff] from 23h59m59.99s to 23h59m59.999167s", "0: [02] from 24h0m0s to 24h0m0.009167s"}},
		{"chosen by name", "a,b,c\n0.000,7,255\n0.010,7,2\n", Options{Columns: "time=A,dec=c"}, "CSV of decoded characters: time in column 1 (s), data in column 3 (decimal)", two},
		{"chosen by number, no header", "7;0,000;ff\n7;0,010;02\n", Options{Columns: "time=2,hex=3"}, "CSV of decoded characters: time in column 2 (s), data in column 3 (hex)", two},
		{"a column a direction", "time;TX;RX\n0,0000;FF;\n0,0100;02;ff\n0,0200;;\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (TX) and 3 (RX) (hex)",
			[]string{two[0], two[1], "1: [ff] from 10ms to 19.167ms", "rows without a character, which were passed over: 1"}},
		{"columns that tell no directions", "time,byte,char\n0.000,ff,02\n0.010,02,03\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)", two},
		{"one direction twice", "time,tx byte,tx char\n0.000,ff,02\n0.010,02,03\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)", two},
		{"a direction beside none", "time,byte,tx char\n0.000,ff,02\n0.010,02,03\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)", two},
		{"an error beside two directions", "time,tx,rx,error\n0.000,ff,,\n0.010,,02,parity\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (tx) and 3 (rx) (hex), errors in column 4",
			[]string{two[0], "1: [02] from 10ms to 19.167ms, parity at 0"}},
		{"several columns chosen", "time,up,down\n0.000,255,\n0.010,,2\n", Options{Columns: "time=1,dec=up,dec=down"},
			"CSV of decoded characters: time in column 1 (s), data in column 2 (up) and 3 (down) (decimal)", []string{two[0], "1: [02] from 10ms to 19.167ms"}},
		{"a header without a separator of another kind", "sample,data\n1,ff\n2,02\n3,02\n", Options{}, "CSV of decoded characters: data in column 2 (hex)",
			[]string{"0: [ff] from ? to ?", "0: [02] from ? to ?", "0: [02] from ? to ?"}},
		{"a column by number, others behind it", "255,1\n2,2\n", Options{Columns: "dec=1"}, "CSV of decoded characters: data in column 1 (decimal)",
			[]string{"0: [ff] from ? to ?", "0: [02] from ? to ?"}},
		{"Latin-1", "Time (\xb5s);Data\n0;FF\n10000;02\n", Options{}, "CSV of decoded characters: time in column 1 (µs), data in column 2 (hex)", two},
		{"before time 0", "time,data\n-1.5e-2,ff\n-0.005,02\n", Options{}, "CSV of decoded characters: time in column 1 (s), data in column 2 (hex)",
			[]string{"0: [ff] from -15ms to -5.833ms", "0: [02] from -5ms to 4.167ms"}},
	})
}

// By hand: the bits of 02 are 0 (start), 0 1 0 0 0 0 0 0, 0 (parity: one 1 is odd already), 1.
func TestCSVOfLevels(t *testing.T) {
	rows := "-1,1\n0,0\n1.667,1\n2.5,0\n8.333,1\n"
	want := []string{"0: [02] from 0s to 9.167ms"}
	what := "CSV of levels: time in column 1 (ms), levels in column 2 (%); read as 1200 bit/s, 8 bits, odd parity"
	named := func(name string) string { return strings.ReplaceAll(what, "%", name) }
	checkCases(t, []csvCase{
		{"a level", "time (ms),level\n" + rows, Options{}, named("level"), want},
		{"a value", "time (ms),value\n" + rows, Options{}, named("value"), want},
		{"a name", "time (ms),D0\n" + rows, Options{}, named("D0"), want},
		{"chosen", "time (ms),D1,D0\n" + strings.ReplaceAll(rows, ",", ",0,"), Options{Columns: "time=1,level=d0"},
			strings.Replace(named("D0"), "column 2", "column 3", 1), want},
		{"channels", "time (ms),Channel 0,Channel 1\n" + strings.ReplaceAll(rows, "\n", ",1\n"), Options{},
			strings.Replace(named("Channel 0"), ";", ", 3 (Channel 1);", 1), append(want, "Channel 1: no character")},
		{"words", "time (ms),D0\n-1,HIGH\n0,low\n1.667,True\n2.5,false\n8.333,1\n", Options{}, named("D0"), want},
		{"seconds without a header", "-0.001,1\n0,0\n0.001667,1\n0.0025,0\n0.008333,1\n", Options{},
			"CSV of levels: time in column 1 (s), levels in column 2 (column 2); read as 1200 bit/s, 8 bits, odd parity", want},
		{"upside down", "time (ms),D0\n-9,0\n0,1\n1.667,0\n2.5,1\n8.333,0\n100,0\n101,1\n", Options{}, named("D0"),
			[]string{"0: [7f] from 1.667ms to 10.834ms, framing at 0", "0: [00] from 10.833ms to 20ms, framing at 1",
				"D0: low most of the time, with wrong characters: levels may be upside down; try it with --invert-levels"}},
		{"upside down and said so", "time (ms),D0\n-9,0\n0,1\n1.667,0\n2.5,1\n8.333,0\n", Options{Inverted: true},
			strings.Replace(named("D0"), ";", ", inverted;", 1), want},
	})
}

func TestWrongCSV(t *testing.T) {
	for _, tt := range []struct{ text, columns, want string }{
		{"time,data\n0,ff\n1,fg\n", "", `trace.txt:3:3: "fg" is no hex byte: want two hex digits a character`},
		{"time,dec\n0,255\n1,256\n", "", `trace.txt:3:3: "256" is no decimal byte: want 0 to 255`},
		{"time,char\n0,A\n1,AB\n", "time=1,char=2", `trace.txt:3:3: "AB" is no character: want one, for instance A, or an escape, for instance \x02`},
		{"time,data\n0,ff\nsoon,ff\n", "", `trace.txt:3:1: "soon" is no time: want a number, 2031-03-01T03:10:07.12Z or 03:10:07.12`},
		{"time,data\n0,ff\n1e12,ff\n", "", `trace.txt:3:1: "1e12" lies more than 100 years from time 0`},
		{"time,data\n1,ff\n0,ff\n", "", "trace.txt:3:1: time lies before that of the row in front of it: want the rows of a stream in the order of times"},
		{"time,data\n0,ff\n1\n", "", "trace.txt:3:2: row ends behind column 1: want at least 2 columns"},
		{"time,data\n0,ff\n1,\"ff\n", "", "trace.txt:3:3: quotation mark is not closed on its line"},
		{"time,data\n0,ff\n1,\"ff\" 0\n", "", "trace.txt:3:8: something stands behind a closed quotation mark: want the separator"},
		{"time,data,error\n0,ff,\n1,ff,overrun\n", "", `trace.txt:3:6: "overrun" is nothing that can be wrong with a character: want parity, framing, break, gap, line, cut or none`},
		{"time,data,error\n0,ff,\n1,ff,error\n", "", `trace.txt:3:6: "error" is nothing that can be wrong with a character: want parity, framing, break, gap, line, cut or none`},
		{"time,level\n0,1\n1,2.5\n", "time=1,level=2", `trace.txt:3:3: "2.5" is no level: want 0 or 1, low or high, false or true, x or z`},
		{"time,data\n2031-03-01 03:10:07,ff\n03:10:08,ff\n", "", `trace.txt:3:1: "03:10:08" is a time with a date behind times without, or the other way round: want all alike`},
		{"time,data\n0,\"ff\n1,ff\n", "", "trace.txt:2:3: quotation mark is not closed on its line"},
		{"data\n0g\nff\n", "", `trace.txt:2:1: "0g" is no hex byte: want two hex digits a character`},
		{"time,data\n0.o,02\n1,ff\n", "", `trace.txt:2:1: "0.o" is no time: want a number, 2031-03-01T03:10:07.12Z or 03:10:07.12`},
		{"time,channel,state\n0,0,1\n1,1,0\n", "", "trace.txt: one column tells which wire a level is of: want a column of levels for each wire"},
		{"time,data\n0,ff\n", "time=time,data=value", `trace.txt: --columns: no column is called "value"`},
		{"time,a,b\n0,ff,255\n", "time=1,hex=2,dec=3", "trace.txt: --columns: several columns of characters have to be in one base: want all of them data, hex, dec or char"},
		{"pressure,flow\n1.5,2\n", "", "trace.txt: no line tells what the columns are: want a header with words like time, data or level, or --columns"},
		{"time,data\n", "", "trace.txt: no row with a time and a value behind the header"},
		{"time,data\n0,ff\n", "time=when,data=2", `trace.txt: --columns: no column is called "when"`},
		{"time,data\n0,ff\n", "time=1", "trace.txt: --columns: want a column for the characters (data, hex, dec or char), or time and level"},
		{"time,data\n0,ff\n", "time=1,data=2,level=2", "trace.txt: --columns: characters and levels do not go together"},
		{"time,data\n0,ff\n", "time", `--columns: "time" is no choice of a column: want for instance time=1,hex=Data`},
		{"time,data\n0,ff\n", "speed=1", `--columns: "speed" is not known: want time, data, hex, dec, char, stream, error, marks or level`},
		{"time,data\n0,ff\n1," + strings.Repeat("f", 70000), "", "trace.txt:3:1: line does not end: want at most 65535 bytes"},
	} {
		got, _ := saidOf(tt.text, Options{As: "csv", Columns: tt.columns})
		if last := got[len(got)-1]; last != tt.want {
			t.Errorf("%.60q:\ngot  %s\nwant %s", tt.text, last, tt.want)
		}
	}
}
