package capture

import (
	"bytes"
	"strings"
	"testing"
)

// The objects are those of design and README, shortened by what tells nothing of
// characters.
func TestJSONLines(t *testing.T) {
	text := strings.Join([]string{
		`{"n":1,"event":"frame","stream":0,"start":5,"preambles":5,"time":0.118333,"at":"2031-03-01T03:10:07.118333+01:00","frame":"0280010083"}`,
		`{"n":2,"event":"noise","stream":1,"start":2,"preambles":2,"time":0.5,"bytes":"aa"}`,
		`{"n":3,"event":"frame","stream":0,"start":10,"preambles":0,"frame":"0280010083","values":[{"name":"frame","value":"0280010083"}]}`,
		`{"n":4,"event":"unanswered","stream":0,"start":10,"preambles":0,"request":3}`,
		`{"n":5,"event":"damage","stream":0,"start":17,"preambles":2,"bytes":"068001","error":{"field":"data","offset":18,"text":"parity"}}`,
		`{"n":6,"event":"damage","stream":0,"start":20,"preambles":0,"bytes":"06","error":{"field":"address","offset":20,"text":"end of input"}}`,
		``,
		`{"n":7,"event":"noise","stream":0,"start":21,"preambles":0,"bytes":"55"}`,
		`{"n":8,"event":"frame","stream":0,"start":90,"preambles":0,"frame":"0280010083"}`,
		`{"n":9,"event":"lost","stream":0,"start":95,"preambles":0,"time":7,"characters":3}`,
		`{"event":"action","time":7.5,"did":"LT-103 is silent"}`,
		`{"time":8,"device":"LT-103","process":3.5}`,
		`{"host":"primary master","rule":"parity","verdict":"kept"}`,
		`{"n":10,"event":"lost","stream":0,"start":95,"preambles":0,"text":"line is torn"}`,
	}, "\n")
	expect(t, tell(t, []byte(text), ""),
		"JSON lines of decoding",
		"0 164.166333ms ff ff ff ff ff 02 80 01 00 83 @trace:1:123",
		"1 509.166667ms ff ff aa @trace:2:78",
		"0 02 80 01 00 83, line  10p @trace:3:69",
		"0 ff ff 06 80 01, line  15p, parity  18p @trace:5:69",
		"0 06, line  20p @trace:6:70",
		"0 55, cut  21p @trace:8:69",
		"0 02 80 01 00 83, cut  22p @trace:9:69",
		"0 7s lost  3p, cut  27p",
		"damage: trace:14:1: something was lost where this was decoded: line is torn")
}

func TestWrongJSONLines(t *testing.T) {
	const good = `{"event":"frame","stream":0,"start":0,"preambles":0,"frame":"02"}` + "\n"
	tests := []struct{ line, want string }{
		{`{"event":"fra`, `trace:2:13: line is no JSON object of decoding: unexpected end of JSON input`},
		{`[1,2]`, `trace:2:1: line is no JSON object of decoding`},
		{`{"event":"frame","stream":0,"start":"one"}`, `trace:2:41: line is no JSON object of decoding: "start" holds a JSON string`},
		{`{"event":"frame","stream":0}`, `trace:2:1: object has no "event" or no "start"`},
		{`{"event":"frame","stream":256,"start":0,"frame":"02"}`, `trace:2:1: 256 is no number of a stream, want 0 to 255`},
		{`{"event":"frame","start":0,"preambles":99999999,"frame":"02"}`, `trace:2:1: 99999999 is no number of preambles, want 0 to 1048576`},
		{`{"event":"frame","start":0,"frame":"02g0"}`, `trace:2:36: "02g0" is no text of hex digits, two a character`},
		{`{"event":"noise","start":0}`, `trace:2:1: nothing is no text of hex digits, two a character`},
		{`{"event":"frame","start":0,"frame":"02","time":1e9}`, `trace:2:1: 1e9 is no time in seconds`},
		{`{"event":"lost","start":0}`, `trace:2:1: something was lost where this was decoded`},
		{strings.Repeat("x", 70000), `trace:2:1: line does not end: want at most 65535 bytes`},
	}
	for _, tt := range tests {
		expect(t, tell(t, []byte(good+tt.line+"\n"+good), "json"),
			"JSON lines of decoding", "0 02 @trace:1:62", "damage: "+tt.want, "0 02, cut  1p @trace:3:62")
	}
}

func TestWhatIsNoJSONOfDecoding(t *testing.T) {
	for _, text := range []string{`{`, `{}`, `{"event":3}`, `{"event":"frame"}`, `{"start":1}`, "{\x00", "\xef\xbb\xbf{"} {
		if lines := tell(t, []byte(text), ""); lines[0] == "JSON lines of decoding" {
			t.Errorf("%q is taken for JSON lines of decoding", text)
		}
	}
}

func FuzzJSONLines(f *testing.F) {
	f.Add([]byte(`{"event":"damage","stream":1,"start":17,"preambles":2,"time":-0.5,"bytes":"0680","error":{"offset":18,"text":"gap"}}`))
	f.Add([]byte(`{"event":"lost","start":0,"characters":3}` + "\n" + `{"event":"torn","start":3,"bytes":""}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		checkRecords(t, b, "json")
		if bytes.HasPrefix(b, []byte("{")) {
			checkRecords(t, b, "")
		}
	})
}
