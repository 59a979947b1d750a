package capture

import (
	"strings"
	"testing"
)

const logged1 = `{"line":"Quillmere","seed":1,"ticks_per_second":6000000}
`

// The objects are those that the help of sim describes. The second talker begins while the
// first one talks; a host outside stands where its last character has come in; behind the
// end nobody has said anything.
func TestLineLog(t *testing.T) {
	text := logged1 + strings.Join([]string{
		`{"talker":"primary master","on":0,"off":200000,"level":0.5,"characters":[["ff",25000,80000],["02",80000,135000],["80",145000,200000,"p"]]}`,
		`{"talker":"LT-103","on":80000,"off":190000,"level":0.5,"characters":[["aa",105000,160000,"pf"]]}`,
		``,
		`{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"time":0.1,"frame":"0280010083"}`,
		`{"time":1,"device":"LT-103","process":3.1}`,
		`{"talker":"client","level":0.5,"characters":[["06",12000000,12055000]]}`,
		`{"talker":"LT-103","on":11990000,"off":12050000,"level":0.5,"characters":[["07",11995000,12050000]]}`,
		`{"talker":"nobody","on":12100000,"off":12200000,"level":0.5,"characters":[]}`,
		`{"end":600000000}`,
		`{"talker":"nobody","characters":[[ "09", 600000000, 600055000 ],["0a",600055000,600110000]]}`,
		`{"end":600080000}`,
		`{"line":"another","seed":1,"ticks_per_second":1000}`,
		`{"talker":"LT-103","on":0,"off":100,"level":0.5,"characters":[["08",10,19]]}`,
	}, "\n")
	expect(t, tell(t, []byte(text), ""),
		"log of a simulated line",
		"0 22.5ms ff 02, parity  1p @trace:2:76",
		"0 33.333333ms 80, parity  2p @trace:2:115",
		"0 2.008333333s 07, cut  3p, parity  3p @trace:8:77",
		"0 1m40s",
		"0 1m40.009166666s 09, cut  4p @trace:11:37",
		"0 1m40.013333333s",
		"resumed",
		"0 19ms 08, cut  5p @trace:14:65")
}

func TestWrongLineLog(t *testing.T) {
	const good = `{"talker":"LT-103","characters":[["02",25000,80000]]}` + "\n"
	const wrong = `is wrong: the end of a character stands behind its start, and both at most 100 years behind the start of the log`
	const noChar = `is no character, want ["ff",START,END], and p or f behind that if it was sent wrongly`
	tests := []struct{ line, want string }{
		{`{"talker":"LT-1`, `trace:3:15: line is no JSON object of a log: unexpected end of JSON input`},
		{`{"talker":"LT-103"}`, `trace:3:1: object has neither "characters" nor "end"`},
		{`{"characters":[["02",90000,145000],["8",1,2]]}`, `trace:3:36: ["8",1,2] ` + noChar},
		{`{"characters":[["80",1]]}`, `trace:3:16: ["80",1] ` + noChar},
		{`{"characters":[["80",1,2,"x"]]}`, `trace:3:16: ["80",1,2,"x"] ` + noChar},
		{`{"characters":[["80",100000,1]]}`, `trace:3:18: it ` + wrong},
		{`{"characters":[["80",-1,1]]}`, `trace:3:18: it ` + wrong},
		{`{"characters":[["80",0,99999999999999999]]}`, `trace:3:18: it ` + wrong},
		{`{"end":-1}`, `trace:3:1: it ` + wrong},
		{`{"line":"x","ticks_per_second":0}`, `trace:3:1: "ticks_per_second" is wrong, want 1 to 1000000000`},
		{strings.Repeat("x", 70000), `trace:3:1: line does not end: want at most 65535 bytes`},
	}
	for _, tt := range tests {
		expect(t, tell(t, []byte(logged1+good+tt.line+"\n"+strings.ReplaceAll(good, "0000", "00000")), "json"),
			"log of a simulated line", "0 13.333333ms 02 @trace:2:36", "damage: "+tt.want, "0 133.333333ms 02, cut  1p @trace:4:36")
	}
	expect(t, tell(t, []byte(good), ""), `trace:1:1: carrier without the head of its log, want the object with "line" and "ticks_per_second" in front of it`)
	late := `{"characters":[["02",30000000,30055000]]}` + "\n" + `{"characters":[["02",60000000,60055000]]}` + "\n"
	expect(t, tell(t, []byte(logged1+late+good), ""), "log of a simulated line",
		"0 5.009166666s 02 @trace:2:18", "0 10.009166666s 02, cut  1p @trace:3:18", "damage: trace:4:36: it lies before what stands in front of it")
}

func FuzzLineLog(f *testing.F) {
	f.Add([]byte(`{"on":0,"characters":[["ff",25000,80000],["02",80000,135000,"pf"]]}` + "\n" + `{"characters":[["ff",55000,90000]]}` + "\n" + `{"end":7}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		text := logged1 + string(b)
		checkRecords(t, []byte(text), "")
		checkReader(t, text, Options{})
	})
}
