package capture

import (
	"fmt"
	"strings"
	"testing"
)

// smallVCD has 02 with odd parity on one wire: its bits are 0 (start), 0 1 0 0 0 0 0 0,
// 0 (parity), 1; here in steps of 10 µs.
const smallVCD = `$date now $end
$timescale 10us $end
$scope module top $end
$var wire 1 ! rx $end
$var wire 4 % bus [3:0] $end
$upscope $end
$enddefinitions $end
#0
$dumpvars 1! bx % $end
#100
0! b0 %
#267
1! b100 %
#350
0! b0 %
#933
1! b1111 %
#5000
`

func TestVCD(t *testing.T) {
	want := []string{"0: [02] from 1ms to 10.167ms"}
	what := "VCD: characters of 1200 bit/s, 8 bits, odd parity, in "
	checkCases(t, []csvCase{
		{"found", smallVCD, Options{}, what + "rx", want},
		{"all on one line", strings.ReplaceAll(smallVCD, "\n", " "), Options{}, what + "rx", want},
		{"a bit of a vector", strings.Replace(smallVCD, "bx %", "b1111 %", 1), Options{Columns: "level=top.bus[2]"}, what + "top.bus[2]", []string{"0: [02] from 1ms to 10.167ms"}},
		{"a bit that says nothing", smallVCD, Options{Columns: "level=rx,level=bus[1]"}, what + "rx, bus[1]", append(want, "bus[1]: no character")},
		{"the other way round", strings.NewReplacer("0!", "1!", "1!", "0!").Replace(smallVCD), Options{Inverted: true}, what + "rx, inverted", want},
		{"an unknown level within a character", strings.Replace(smallVCD, "#933", "#400\nx!\n#500\n0!\n#933", 1), Options{}, what + "rx",
			[]string{"0: [0a] from 1ms to 10.167ms, parity, framing at 0"}},
		{"high impedance is no level, so no start bit", strings.Replace(smallVCD, "1! bx %", "z! bx %", 1), Options{}, what + "rx", []string{"0: [c0] from 3.5ms to 12.667ms"}},
		{"cut off in a character", strings.Split(smallVCD, "#350")[0] + "#350\n0!\n", Options{}, what + "rx", []string{"rx: no character"}},
		{"cut off behind the last change", strings.TrimSuffix(smallVCD, "#5000\n"), Options{}, what + "rx", want},
		{"no start bit", strings.Replace(smallVCD, "#267", "#130\n1!\n#267", 1), Options{}, what + "rx",
			[]string{"0: [c0] from 3.5ms to 12.667ms"}},
	})
}

func TestPlacesOfVCD(t *testing.T) {
	rd, _, err := Open(strings.NewReader(smallVCD), "trace.vcd", "")
	rec := new(Record)
	if err == nil {
		err = rd.Next(rec)
	}
	if got := rec.Place.Of(0).String(); err != nil || got != "trace.vcd:11:1" {
		t.Errorf("got %s, %v", got, err)
	}
}

func TestWrongVCD(t *testing.T) {
	head := "$timescale 1 us $end $var wire 1 ! rx $end $enddefinitions $end\n"
	many := "$timescale 1 us $end\n"
	for i := range 257 {
		many += fmt.Sprintf("$var wire 1 !%d d%d $end\n", i, i)
	}
	for _, tt := range []struct{ text, columns, want string }{
		{head + "#0 2!", "", `trace.txt:2:4: "2!" is nothing that a VCD holds behind its definitions: want a time like #120, or a change like 1! or like b01 ! with a blank`},
		{head + "#5\n#4\n", "", "trace.txt:3:1: time lies before the one in front of it"},
		{head + "#5.5", "", `trace.txt:2:1: "#5.5" is no time of a VCD: want # and a whole number`},
		{head + "#9000000000000000000", "", `trace.txt:2:1: "#9000000000000000000" lies more than 100 years from time 0`},
		{head + "1", "", "trace.txt:2:1: identifier code is missing behind the value"},
		{head + "b01", "", "trace.txt:2:1: identifier code is missing behind the value"},
		{head + "b012 !", "", `trace.txt:2:1: "012" is no value of a VCD: want 0, 1, x or z`},
		{head + "$sope", "", `trace.txt:2:1: "$sope" is nothing that a VCD holds behind its definitions: want a time like #120, or a change like 1! or like b01 ! with a blank`},
		{"$timescale 5 us $end", "", `trace.txt:1:1: "5us" is no timescale: want 1, 10 or 100 and one of s, ms, us, ns, ps, fs`},
		{"$timescale 1 ms $end\n", "", "trace.txt:2:1: definitions do not end: want $enddefinitions $end"},
		{"$var wire ! rx $end", "", `trace.txt:1:1: "wire ! rx" is no definition of a variable: want $var, type, size, code, name and $end`},
		{"$scope module top", "", "trace.txt:1:1: definition does not end: want $end"},
		{"$var wire 8 ! bus $end $enddefinitions $end", "", "trace.txt defines no signal of one bit: choose bits with --columns level=NAME[BIT]"},
		{many, "", "trace.txt:258:1: more than 256 signals of one bit: choose some with --columns level=NAME,level=…"},
		{head, "level=tx", `trace.txt has no signal "tx" of one bit`},
		{head, "time=1", `--columns takes level=SIGNAL for a VCD, got "time=1"`},
		{"$scope module a $end $var wire 1 ! rx $end $upscope $end $scope module b $end $var wire 1 # rx $end", "level=rx",
			`trace.txt:1:79: signal "rx" is there twice: want its whole path, for instance level=b.rx`},
		{"$date " + strings.Repeat("x", 70000), "", "trace.txt:1:7: word does not end: want at most 65535 bytes"},
		{strings.Repeat("$scope module "+strings.Repeat("s", 1000)+" $end\n", 5), "", "trace.txt:5:1: scopes are nested too deeply: want at most 4096 bytes of names"},
	} {
		got, _ := saidOf(tt.text, Options{As: "vcd", Columns: tt.columns})
		if last := append([]string{""}, got...)[len(got)]; last != tt.want {
			t.Errorf("%.60q:\ngot  %s\nwant %s", tt.text, last, tt.want)
		}
	}
}
