package fsk_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/bits"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"looptone/frame"
)

// minimodem is a program of others that sends and hears tones (Debian package minimodem).
// It knows neither parity nor nine data bits, so the tests hand it bits and take bits
// from it.

// leaveOut leaves a test out that cannot be run here for want of something; in CI
// nothing is.
func leaveOut(t testing.TB, why error) {
	t.Helper()
	if ci := os.Getenv("CI"); ci == "1" || ci == "true" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// need is the path of a program, without which the test is left out.
func need(t testing.TB, program string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		leaveOut(t, err)
	}
	return path
}

// writeWAV writes a file of 16 bits, with ±1 as full scale.
func writeWAV(t testing.TB, path string, rate int, samples []float64) {
	t.Helper()
	var b bytes.Buffer
	b.Grow(44 + 2*len(samples))
	b.WriteString("RIFF")
	binary.Write(&b, binary.LittleEndian, uint32(36+2*len(samples)))
	b.WriteString("WAVEfmt ")
	for _, v := range []any{uint32(16), uint16(1), uint16(1), uint32(rate), uint32(2 * rate), uint16(2), uint16(16)} {
		binary.Write(&b, binary.LittleEndian, v)
	}
	b.WriteString("data")
	binary.Write(&b, binary.LittleEndian, uint32(2*len(samples)))
	raw := make([]byte, 2*len(samples))
	for i, v := range samples {
		binary.LittleEndian.PutUint16(raw[2*i:], uint16(int16(max(-32768, min(32767, v*32767)))))
	}
	b.Write(raw)
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
}

// readWAV reads a file of one channel and 16 bits.
func readWAV(t testing.TB, path string) (samples []float64) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, raw, found := bytes.Cut(raw, []byte("data"))
	if !found || len(raw) < 4 {
		t.Fatalf("%s: no samples", path)
	}
	for raw = raw[4:]; len(raw) >= 2; raw = raw[2:] {
		samples = append(samples, float64(int16(binary.LittleEndian.Uint16(raw)))/32767)
	}
	return samples
}

// program runs a program and returns what it writes.
func program(t testing.TB, stdin string, name string, args ...string) string {
	t.Helper()
	cmd := exec.Command(name, args...)
	if stdin != "" {
		f, err := os.Open(stdin)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		cmd.Stdin = f
	}
	var complaint strings.Builder
	cmd.Stderr = &complaint
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, complaint.String())
	}
	return string(out)
}

// A bitRow packs bits into bytes, the lowest first.
type bitRow struct {
	bytes []byte
	n     int
}

func (b *bitRow) put(one bool) {
	if b.n%8 == 0 {
		b.bytes = append(b.bytes, 0)
	}
	if one {
		b.bytes[b.n/8] |= 1 << (b.n % 8)
	}
	b.n++
}

// minimodemSends has minimodem make the waveform of a talk that has whole bits only, an
// ordinary clock and an amplitude of 1 peak to peak, and begins at time 0.
func minimodemSends(t testing.TB, rate int, k *talk) []float64 {
	t.Helper()
	minimodem := need(t, "minimodem")
	var row bitRow
	ps, _ := k.pieces()
	for _, p := range ps {
		for range int((p.until-p.from)*1200 + 0.5) {
			row.put(p.bit)
		}
	}
	for row.n%8 != 0 {
		row.put(true)
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "bits"), filepath.Join(dir, "out.wav")
	if err := os.WriteFile(in, row.bytes, 0o600); err != nil {
		t.Fatal(err)
	}
	program(t, in, minimodem, "--tx", "-8", "--startbits", "0", "--stopbits", "0", "-M", "1200", "-S", "2200",
		"-R", fmt.Sprint(rate), "-v", "0.5", "--lut=0", "-f", out, "1200")
	return readWAV(t, out)
}

// minimodemSettings are the five ways of asking it, since in some of them it slips.
var minimodemSettings = [][]string{
	{"--binary-raw", "11", "-c", "0", "-l", "1000"},
	{"--binary-raw", "22", "-c", "0", "-l", "1000"},
	{"--binary-raw", "33", "-c", "0", "-l", "1000"},
	{"--binary-raw", "55", "-c", "0", "-l", "1000"},
	{"--binary-raw", "11"},
}

// minimodemHears is what minimodem hears in a file, with one of its settings.
func minimodemHears(t testing.TB, file string, setting []string) []sent {
	t.Helper()
	args := append([]string{"--rx", "-q", "-M", "1200", "-S", "2200", "-f", file}, setting...)
	return uart(program(t, "", need(t, "minimodem"), append(args, "1200")...))
}

// uart makes characters of bits, one a character of text: a 0 begins one. The places are
// in bits.
func uart(text string) (chars []sent) {
	row := strings.Map(func(r rune) rune {
		if r != '0' && r != '1' {
			return -1
		}
		return r
	}, text)
	for i := 0; i+11 <= len(row); {
		if row[i] == '1' {
			i++
			continue
		}
		s := sent{at: float64(i)}
		for b := range 8 {
			s.char |= (row[i+1+b] - '0') << b
		}
		if ones := bits.OnesCount8(s.char) + int(row[i+9]-'0'); ones%2 == 0 {
			s.mark |= frame.Parity
		}
		if row[i+10] == '0' {
			s.mark |= frame.Framing
		}
		chars = append(chars, s)
		i += 11
	}
	return chars
}

// sentence is characters as text, with their marks and without their places.
func sentence(chars []sent) string {
	var b strings.Builder
	for _, c := range chars {
		fmt.Fprintf(&b, "%02x", c.char)
		if c.mark != 0 {
			fmt.Fprintf(&b, "[%v]", c.mark)
		}
		b.WriteByte(' ')
	}
	return b.String()
}
