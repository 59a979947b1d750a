package capture

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/klauspost/compress/zstd"
)

func gzipped(t testing.TB, text string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, err := io.WriteString(w, text)
	if err = errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func zstded(t testing.TB, text string) []byte {
	t.Helper()
	w, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	return w.EncodeAll([]byte(text), nil)
}

func TestCompressed(t *testing.T) {
	text := recording("0 0 ff ff 02 80 00 00 82")
	for _, packed := range [][]byte{gzipped(t, text), zstded(t, text), append(gzipped(t, text[:40]), gzipped(t, text[40:])...)} {
		for division, r := range divided(packed) {
			got := readAll(r, "")
			if got.err != nil || string(got.chars) != string(mustHex(t, "ff ff 02 80 00 00 82")) {
				t.Errorf("%s: got % x, %v", division, got.chars, got.err)
			}
		}
	}
	tests := []struct{ text, as, what string }{
		{"ff ff 02", "", "hex text"},
		{"ff ff 02", "hex", "hex text"},
		{"ff ff 02", "raw", "raw bytes"},
		{string(pcapOf(t, 147, []byte{2})), "", "pcap of private packets, a stretch of characters each (link type 147)"},
	}
	for _, tt := range tests {
		if got := readAll(bytes.NewReader(gzipped(t, tt.text)), tt.as); got.what != "gzip of "+tt.what || got.err != nil {
			t.Errorf("gzip of %q as %q: got %q, %v", tt.text, tt.as, got.what, got.err)
		}
		if got := readAll(bytes.NewReader(zstded(t, tt.text)), tt.as); got.what != "zstd of "+tt.what || got.err != nil {
			t.Errorf("zstd of %q as %q: got %q, %v", tt.text, tt.as, got.what, got.err)
		}
	}
}

func TestDamagedCompression(t *testing.T) {
	const lines = "ff ff 02\n"
	text := strings.Repeat(lines, 100000)
	whole, zwhole := gzipped(t, text), zstded(t, text)
	changed := bytes.Clone(whole)
	changed[len(changed)-6] ^= 1
	zchanged := bytes.Clone(zwhole)
	zchanged[len(zchanged)/2] ^= 0xff
	tests := []struct {
		name string
		file io.Reader
		want string
	}{
		{"gzip that ends", bytes.NewReader(whole[:len(whole)-20]), "read trace.txt: gzip: the compressed data break off"},
		{"gzip of which there is a head", bytes.NewReader(whole[:5]), "read trace.txt: gzip: the compressed data break off"},
		{"gzip with a wrong sum", bytes.NewReader(changed), "read trace.txt: gzip data are damaged: invalid checksum"},
		{"gzip with something behind it", bytes.NewReader(append(bytes.Clone(whole), "nothing more"...)), "read trace.txt: gzip data are damaged: invalid header"},
		{"gzip on a stick that is pulled", io.MultiReader(bytes.NewReader(whole[:300]), iotest.ErrReader(errBroken)), "read trace.txt: stick was pulled"},
		{"zstd that ends", bytes.NewReader(zwhole[:len(zwhole)-3]), "read trace.txt: zstd: the compressed data break off"},
		{"zstd on a stick that is pulled", io.MultiReader(bytes.NewReader(zwhole[:20]), iotest.ErrReader(errBroken)), "read trace.txt: stick was pulled"},
		{"gzip of nothing", bytes.NewReader(gzipped(t, "")), "trace.txt is empty"},
	}
	for _, tt := range tests {
		if got := readAll(tt.file, "hex"); got.err == nil || got.err.Error() != tt.want {
			t.Errorf("%s: got %v, want %s", tt.name, got.err, tt.want)
		}
	}
	// Where a changed byte is noticed is the library's business; that it is, is ours.
	if got := readAll(bytes.NewReader(zchanged), "hex"); got.err == nil || !strings.HasPrefix(got.err.Error(), "read trace.txt: zstd") {
		t.Errorf("got %v", got.err)
	}
}

func TestMoreThanIsToBeRead(t *testing.T) {
	text := strings.Repeat("ff\n", 50000)
	const want = "read trace.txt: more than 100 KiB in it, of which the rest is not read"
	for _, file := range [][]byte{[]byte(text), gzipped(t, text), zstded(t, text)} {
		got, err := readWith(bytes.NewReader(file), Options{As: "hex", MaxSize: 100 << 10})
		if err == nil || err.Error() != want || got != 100<<10/3 {
			t.Errorf("got %d characters, %v, want %s", got, err, want)
		}
		var large *TooLargeError
		if !errors.As(err, &large) || large.Most != 100<<10 {
			t.Errorf("got %v", err)
		}
	}
	for _, most := range []int64{int64(len(text)), int64(len(text)) + 1} {
		if got, err := readWith(strings.NewReader(text), Options{As: "hex", MaxSize: most}); got != 50000 || err != nil {
			t.Errorf("at most %d: got %d, %v", most, got, err)
		}
	}
	if got, err := readWith(strings.NewReader("\xff\x02\x80"), Options{As: "raw", MaxSize: 2}); got != 2 || err == nil ||
		err.Error() != "read trace.txt: more than 2 bytes in it, of which the rest is not read" {
		t.Errorf("got %d, %v", got, err)
	}
}

// readWith counts the characters of a capture.
func readWith(r io.Reader, o Options) (chars int, err error) {
	rd, _, err := OpenWith(r, "trace.txt", o)
	for rec := new(Record); err == nil; {
		if err = rd.Next(rec); err == nil {
			chars += len(rec.Chars)
		}
	}
	if err == io.EOF {
		err = nil
	}
	return chars, err
}

// A bomb: what is compressed a thousandfold, of any format, is read in little memory.
func TestBombsDoNotFillMemory(t *testing.T) {
	const size = 40 << 20
	interfaces := "\x0a\x0d\x0d\x0a\x1c\x00\x00\x00\x4d\x3c\x2b\x1a\x01\x00\x00\x00\xff\xff\xff\xff\xff\xff\xff\xff\x1c\x00\x00\x00"
	interfaces += strings.Repeat("\x01\x00\x00\x00\x14\x00\x00\x00\x93\x00\x00\x00\x00\x00\x00\x00\x14\x00\x00\x00", size/20)
	bombs := map[string]string{
		"zeros":           strings.Repeat("\x00", size),
		"a line":          strings.Repeat("ff", size/2),
		"a comment":       "looptone capture 1" + strings.Repeat(" ", size),
		"an object":       `{"event":"frame","start":0}` + "\n" + strings.Repeat("{", size),
		"interfaces":      interfaces,
		"one long packet": string(pcapOf(t, 147)) + "\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x40\x00\x00\x00\x40" + strings.Repeat("\x00", size),
	}
	for name, bomb := range bombs {
		for how, packed := range map[string][]byte{"gzip": gzipped(t, bomb), "zstd": zstded(t, bomb)} {
			rd, _, err := Open(bytes.NewReader(packed), "bomb", "")
			var before, now runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&before)
			most := uint64(0)
			for rec, n := new(Record), 0; err == nil; n++ {
				if err = rd.Next(rec); err == nil && n%50 != 0 {
					continue
				}
				runtime.ReadMemStats(&now)
				most = max(most, now.HeapAlloc-min(now.HeapAlloc, before.HeapAlloc))
			}
			if most > 24<<20 {
				t.Errorf("%s of %s: %d MiB in use", how, name, most>>20)
			}
		}
	}
}

func FuzzCompressed(f *testing.F) {
	f.Add(gzipped(f, "ff ff 02"))
	f.Add(zstded(f, "ff ff 02"))
	f.Fuzz(func(t *testing.T, b []byte) {
		for i := range packings {
			checkRecords(t, append([]byte(packings[i].magic), b...), "")
		}
		checkRecords(t, b, "")
	})
}

// TestUnpack: who reads no capture has packed and plain files alike, no more than was said.
func TestUnpack(t *testing.T) {
	for how, packed := range map[string][]byte{"": []byte("tones"), "gzip": gzipped(t, "tones"), "zstd": zstded(t, "tones")} {
		r, got, err := Unpack(bytes.NewReader(packed), "x.wav", 5)
		if err != nil || got != how {
			t.Fatalf("got %q, %v, want %q", got, err, how)
		}
		if text, err := io.ReadAll(r); err != nil || string(text) != "tones" {
			t.Errorf("%q: got %q, %v", how, text, err)
		}
		r, _, _ = Unpack(bytes.NewReader(packed), "x.wav", 4)
		var tooLarge *TooLargeError
		if text, err := io.ReadAll(r); !errors.As(err, &tooLarge) || string(text) != "tone" {
			t.Errorf("%q: got %q, %v, want 4 bytes and that there are more", how, text, err)
		}
	}
}
