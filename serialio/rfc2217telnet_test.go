package serialio

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"
)

func hexBytes(t testing.TB, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// outcome is what comes of bytes from a server: characters, answers, and what was told.
func outcome(pieces ...[]byte) (chars, answer []byte, told string) {
	var c telnet
	c.ask()
	c.take()
	for _, p := range pieces {
		chars = c.feed(chars, p, func(command byte, value []byte) { told += fmt.Sprintf("%d % x; ", command, value) })
		answer = append(answer, c.take()...)
	}
	return chars, answer, told
}

// What goes over the wire is written out byte by byte from the documents.
//
// Source: RFC 854, RFC 855, RFC 2217.
func TestTelnetIsTakenApart(t *testing.T) {
	tests := []struct{ name, in, chars, answer, told string }{
		{"characters", "00 0d 00 0a fe f0", "00 0d 00 0a fe f0", "", ""},
		{"a doubled IAC is a character", "01 ff ff 02 ff ff ff ff", "01 ff 02 ff ff", "", ""},
		{"commands without a meaning", "01 ff f1 02 ff f2 ff f9 03", "01 02 03", "", ""},
		{"what was asked is not answered again", "ff fd 2c ff fd 00 ff fb 00 ff fd 03 ff fb 03", "", "", ""},
		{"echo is not wanted, once", "ff fb 01 41 ff fb 01", "41", "ff fe 01", ""},
		{"nor is anything else", "ff fd 18 ff fd 18 ff fd 1f", "", "ff fc 18 ff fc 1f", ""},
		{"not offered, not refused", "ff fe 18 ff fc 18", "", "", ""},
		{"what was agreed is taken back", "ff fd 03 ff fe 03 ff fe 03", "", "ff fc 03", ""},
		{"the server offers the option too", "ff fb 2c", "", "ff fd 2c", ""},
		{"an answer", "ff fa 2c 65 00 00 04 b0 ff f0", "", "", "101 00 00 04 b0; "},
		{"an answer with a doubled IAC", "41 ff fa 2c 6b ff ff ff f0 42", "41 42", "", "107 ff; "},
		{"an answer that a command cuts off", "ff fa 2c 6b b0 ff fb 01 43", "43", "ff fe 01", ""},
		{"an answer that another one cuts off", "ff fa 2c 6b b0 ff fa 2c 6b 10 ff f0", "", "", "107 10; "},
		{"of another option", "ff fa 18 01 ff f0 44", "44", "", ""},
		{"too short", "ff fa 2c ff f0 ff fa ff f0 45", "45", "", ""},
		{"too long", "ff fa 2c 6b" + strings.Repeat("00", 400) + "ff f0 46", "46", "", ""},
		{"a value is not needed", "ff fa 2c 6c ff f0", "", "", "108 ; "},
	}
	for _, tt := range tests {
		in := hexBytes(t, tt.in)
		check := func(how string, pieces ...[]byte) {
			t.Helper()
			chars, answer, told := outcome(pieces...)
			if !bytes.Equal(chars, hexBytes(t, tt.chars)) || !bytes.Equal(answer, hexBytes(t, tt.answer)) || told != tt.told {
				t.Errorf("%s, %s: got characters % x, answer % x, told %q", tt.name, how, chars, answer, told)
			}
		}
		check("whole", in)
		for i := range in {
			for j := i; j <= len(in); j++ {
				check(fmt.Sprintf("divided at %d and %d", i, j), in[:i], in[i:j], in[j:])
				if len(in) > 100 {
					break
				}
			}
		}
	}
}

func TestCommandsAreAsTheDocumentHasThem(t *testing.T) {
	tests := []struct{ name, got, want string }{
		{"every option is asked for", string(func() []byte { var c telnet; c.ask(); return c.take() }()),
			"ff fb 2c ff fb 00 ff fb 03 ff fd 00 ff fd 03"},
		{"baud rate 1200", string(appendComPort(nil, setBaudRate, 0, 0, 4, 0xb0)), "ff fa 2c 01 00 00 04 b0 ff f0"},
		{"an IAC in a value", string(appendComPort(nil, setModemStateMask, 0xff)), "ff fa 2c 0b ff ff ff f0"},
		{"RTS on", string(appendComPort(nil, setControl, rtsOn)), "ff fa 2c 05 0b ff f0"},
		{"RTS off", string(appendComPort(nil, setControl, rtsOff)), "ff fa 2c 05 0c ff f0"},
		{"DTR on", string(appendComPort(nil, setControl, dtrOn)), "ff fa 2c 05 08 ff f0"},
		{"DTR off", string(appendComPort(nil, setControl, dtrOff)), "ff fa 2c 05 09 ff f0"},
		{"the settings of the standard", string(newWishes(Settings{}).commands()),
			"ff fa 2c 01 00 00 04 b0 ff f0 ff fa 2c 02 08 ff f0 ff fa 2c 03 02 ff f0 ff fa 2c 04 01 ff f0" +
				"ff fa 2c 05 01 ff f0 ff fa 2c 0a 00 ff f0 ff fa 2c 0b ff ff ff f0 ff fa 2c 0c 01 ff f0"},
	}
	for _, tt := range tests {
		if want := string(hexBytes(t, tt.want)); tt.got != want {
			t.Errorf("%s: got % x, want % x", tt.name, tt.got, want)
		}
	}
}

func TestCharactersThatWereEscapedComeBack(t *testing.T) {
	all := append(allValues(), 0xff, 0xff, 0xff, 0xf0, 0xff)
	if got, _, _ := outcome(appendEscaped(nil, all)); !bytes.Equal(got, all) {
		t.Errorf("got % x", got)
	}
	if n := bytes.Count(appendEscaped(nil, all), []byte{0xff}); n != 10 {
		t.Errorf("%d bytes ff, want 10", n)
	}
}

func TestHowManyCharactersWereWritten(t *testing.T) {
	for in, want := range map[string]struct {
		n    int
		torn bool
	}{
		"": {0, false}, "01": {1, false}, "ff": {0, true}, "ffff": {1, false}, "01ffffff": {2, true}, "ffff02ffff": {3, false},
	} {
		if n, torn := unescapedLen(hexBytes(t, in)); n != want.n || torn != want.torn {
			t.Errorf("%q: got %d, %v, want %d, %v", in, n, torn, want.n, want.torn)
		}
	}
}

// FuzzTelnet: whatever a server sends, and however it is divided, the same comes of it,
// and it is no more than what was sent; what was escaped comes back.
func FuzzTelnet(f *testing.F) {
	for _, seed := range []string{"fffd2cfffb01", "fffa2c6bffff10fff0", "01ffff02fff1", "fffa2c65000004b0fff041", "ff", "fffafffafffb", "fffa2c6cfff0fffe2c"} {
		f.Add(hexBytes(f, seed), uint8(3))
	}
	f.Fuzz(func(t *testing.T, in []byte, size uint8) {
		chars, answer, told := outcome(in)
		if len(chars)+len(answer) > len(in) {
			t.Errorf("%d characters and an answer of %d bytes out of %d", len(chars), len(answer), len(in))
		}
		var pieces [][]byte
		for rest, n := in, 1+int(size); len(rest) > 0; {
			n = min(n, len(rest))
			pieces, rest = append(pieces, rest[:n]), rest[n:]
		}
		if c, a, s := outcome(pieces...); !bytes.Equal(c, chars) || !bytes.Equal(a, answer) || s != told {
			t.Errorf("divided by %d: % x, % x, %s; whole: % x, % x, %s", size, c, a, s, chars, answer, told)
		}
		if back, _, _ := outcome(appendEscaped(nil, in)); !bytes.Equal(back, in) {
			t.Errorf("escaped: % x, want % x", back, in)
		}
	})
}
