package payload

import (
	"encoding/hex"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestPackedASCII(t *testing.T) {
	for _, c := range []struct{ text, packed, source string }{
		{"    ", "82 08 20", "Spectrum Controls 1769sc manual 0300215-03, p.8-3"},
		{"????", "ff ff ff", "reading notes on the command summary document (blog post 139268532)"},
		// M is 4D, which packs to 001101: alone in front of blanks.
		{"M   ", "36 08 20", "c-plusplus.net topic 175001 (M), Spectrum Controls 0300215-03 p.8-3 (blanks)"},
		{"@ABC", "00 10 83", "constructed from the rule of Spectrum Controls 0300215-03, p.8-4"},
	} {
		got, err := AppendPackedASCII(nil, c.text, 3)
		if err != nil || hex.EncodeToString(got) != strings.ReplaceAll(c.packed, " ", "") {
			t.Errorf("%q: got % x, %v, want %s (%s)", c.text, got, err, c.packed, c.source)
		}
		if got := AppendUnpacked(nil, unhex(t, c.packed)); string(got) != c.text {
			t.Errorf("%s: got %q, want %q (%s)", c.packed, got, c.text, c.source)
		}
	}
}

func TestPackedASCIIErrors(t *testing.T) {
	dst := []byte{1}
	for text, want := range map[string]error{"ABCDE": ErrLength, "ab": ErrCharacter, "A\x1f": ErrCharacter, "A`": ErrCharacter, "Ü": ErrCharacter} {
		if got, err := AppendPackedASCII(dst, text, 3); !errors.Is(err, want) || len(got) != 1 {
			t.Errorf("%q: got % x, %v, want %v", text, got, err, want)
		}
	}
}

// Every three bytes are four characters, and back.
func TestPackedASCIIBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		packed := rapid.SliceOfN(rapid.Byte(), 3, 3).Draw(t, "packed")
		text := AppendUnpacked(nil, packed)
		for _, c := range text {
			if c < 0x20 || c > 0x5f {
				t.Fatalf("% x holds %02x", packed, c)
			}
		}
		if back, err := AppendPackedASCII(nil, string(text), 3); err != nil || string(back) != string(packed) {
			t.Fatalf("% x is %q and back % x (%v)", packed, text, back, err)
		}
	})
}

func TestLatin1(t *testing.T) {
	got, err := AppendLatin1(nil, "Füllstand µ", 13)
	if want := "46fc6c6c7374616e6420b50000"; err != nil || hex.EncodeToString(got) != want {
		t.Errorf("got %x, %v, want %s", got, err, want)
	}
	if text := string(AppendFromLatin1(nil, got)); text != "Füllstand µ" {
		t.Errorf("got %q back", text)
	}
	for text, want := range map[string]error{"€": ErrCharacter, "a\x00b": ErrCharacter, "\xff": ErrCharacter, "abcdé": ErrLength} {
		if got, err := AppendLatin1(nil, text, 4); !errors.Is(err, want) || len(got) != 0 {
			t.Errorf("%q: got %x, %v, want %v", text, got, err, want)
		}
	}
}

// Source: Flowserve LMENIM2340-00, p.56 (day, month, year - 1900).
func TestDate(t *testing.T) {
	for text, want := range map[string]string{
		"2031-03-01": "010383", "1900-01-01": "010100", "2155-12-31": "1f0cff", "2000-02-29": "1d0264",
	} {
		got, err := AppendDate(nil, text)
		if err != nil || hex.EncodeToString(got) != want {
			t.Errorf("%s: got %x, %v, want %s", text, got, err, want)
		}
		if back, ok := AppendDateText(nil, got); !ok || string(back) != text {
			t.Errorf("%x: got %s, %v, want %s", got, back, ok, text)
		}
	}
	for _, text := range []string{"", "2031-2-1", "2031-02-29", "1899-12-31", "2156-01-01", "01.03.2031"} {
		if got, err := AppendDate(nil, text); !errors.Is(err, ErrDay) {
			t.Errorf("%q: got %x, %v, want no day", text, got, err)
		}
	}
	for _, raw := range []string{"000000", "ffffff", "1d0200", "200183", "010d83", "010083", "000183"} { // 1900 has no 29 February
		if text, ok := AppendDateText(nil, unhex(t, raw)); ok {
			t.Errorf("%s: got %s, want no day", raw, text)
		}
	}
}

// 1 s is 32000 counts, 00 00 7D 00; a field spans more than 37 hours.
//
// Source: Flowserve LMENIM2340-00, p.57.
func TestTime(t *testing.T) {
	if n, ok := Count(time.Second); !ok || n != 0x7d00 {
		t.Errorf("1 s: got %x, %v, want 7d00", n, ok)
	}
	if MaxDuration < 37*time.Hour || MaxDuration > 38*time.Hour {
		t.Errorf("longest time is %v", MaxDuration)
	}
	for _, d := range []time.Duration{-1, MaxDuration + 1} {
		if n, ok := Count(d); ok {
			t.Errorf("%v: got %d", d, n)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Uint32().Draw(t, "count")
		if back, ok := Count(Duration(n)); !ok || back != n {
			t.Fatalf("%d is %v and back %d", n, Duration(n), back)
		}
	})
}

func TestSecondsAreExact(t *testing.T) {
	for n, want := range map[uint32]string{
		0: "0", 1: "0.00003125", 32000: "1", 48000: "1.5", 16000*5 + 1: "2.50003125", 0xffffffff: "134217.72796875",
	} {
		if got := string(appendSeconds(nil, n)); got != want {
			t.Errorf("%d: got %s, want %s", n, got, want)
		}
	}
}
