package capture

import (
	"bytes"
	"encoding/hex"
	"io"
	"strings"
	"testing"
)

// endless repeats text for ever.
type endless struct {
	text string
	at   int
}

func (e *endless) Read(b []byte) (n int, err error) {
	for n < len(b) {
		m := copy(b[n:], e.text[e.at:])
		n, e.at = n+m, (e.at+m)%len(e.text)
	}
	return n, nil
}

func formats() map[string]string {
	line := strings.Repeat("ff ff ff ff ff 06 80 01 07 00 00 39 41 c8 00 00 30\n", 100)
	return map[string]string{
		"raw":              "\xff\xff\xff\x02\x80\x01\x00\x83",
		"hex lines":        line,
		"hex run together": strings.ReplaceAll(line, " ", ""),
		"hex on one line":  strings.ReplaceAll(line, "\n", " "),
		"hex with 0x":      "0x" + strings.ReplaceAll(strings.TrimSpace(strings.ReplaceAll(line, "\n", " ")), " ", ", 0x") + "\n",
		"hexdump -C":       hex.Dump(bytes.Repeat(mustDecode("ffff0280010083"), 1<<14)) + "\n",
	}
}

func TestNextDoesNotAllocate(t *testing.T) {
	for name, text := range formats() {
		as := "hex"
		if name == "raw" {
			as = "raw"
		}
		rd, _, err := Open(&endless{text: text}, name, as)
		if err != nil {
			t.Fatal(err)
		}
		var rec Record
		allocs := testing.AllocsPerRun(1000, func() {
			if err := rd.Next(&rec); err != nil {
				t.Fatal(err)
			}
		})
		if allocs > 0 {
			t.Errorf("%s: %v allocations a record", name, allocs)
		}
	}
}

func BenchmarkNext(b *testing.B) {
	for name, text := range formats() {
		b.Run(name, func(b *testing.B) {
			text = strings.Repeat(text, 1+(4<<20)/len(text))
			if strings.HasPrefix(name, "hexdump") {
				text = hex.Dump(bytes.Repeat(mustDecode("ffff0280010083"), 1<<17))
			}
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				rd, _, err := Open(strings.NewReader(text), name, "")
				var rec Record
				for err == nil {
					err = rd.Next(&rec)
				}
				if err != io.EOF {
					b.Fatal(err)
				}
			}
		})
	}
}
