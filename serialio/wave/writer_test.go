package wave

import (
	"bytes"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

var allFormats = []Format{PCM8, PCM16, PCM24, PCM32, Float32}

func TestWrittenIsRead(t *testing.T) {
	samples := swing(1001)
	for _, f := range allFormats {
		got := readAll(t, written(t, 44100, f, samples...), Options{})
		if got.err != nil || got.told != "" || got.rate != 44100 || len(got.samples) != len(samples) {
			t.Errorf("%v: got %d samples, rate %v, told %q, %v", f, len(got.samples), got.rate, got.told, got.err)
			continue
		}
		step := map[Format]float64{PCM8: full8, PCM16: full16, PCM24: full24, PCM32: full32, Float32: math.Inf(1)}[f]
		for i, sample := range got.samples {
			if off := math.Abs(float64(sample) - float64(samples[i])); off > 0.5/step+6e-8 || f == Float32 && off != 0 {
				t.Fatalf("%v: sample %d: got %v, want %v", f, i, sample, samples[i])
			}
		}
	}
}

// The value of a step is that of the file's integers: half of the scale is 64, 16384 and
// so on, and what lies between two steps goes to the nearer one, or the even one.
func TestStepsAndClipping(t *testing.T) {
	samples := []float32{0, 0.5, -1, 1, 1.5, -1.5, 1.5 / 32768, 2.5 / 32768, -0.5 / 32768, -1.5 / 32768}
	file := &disk{}
	w, err := NewWriter(file, 8000, PCM16)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(samples); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	want := []byte{0, 0, 0x00, 0x40, 0x00, 0x80, 0xff, 0x7f, 0xff, 0x7f, 0x00, 0x80, 2, 0, 2, 0, 0, 0, 0xfe, 0xff}
	if got := file.bytes[44:]; !bytes.Equal(got, want) {
		t.Errorf("got % x, want % x", got, want)
	}
	if got := w.Clipped(); got != 2 {
		t.Errorf("clipped: got %d, want 2 (full scale itself is not beyond)", got)
	}
	if got := written(t, 8000, PCM8, 0, 0.5, -1)[44:]; got != "\x80\xc0\x00\x00" { // and one for an even length
		t.Errorf("8 bits: got % x", got)
	}
}

// Where it cannot seek, the sizes say that the length is not known.
func TestWriteToPipe(t *testing.T) {
	for _, f := range []Format{PCM16, Float32} {
		var file bytes.Buffer
		w, err := NewWriter(&file, 48000, f)
		if err != nil {
			t.Fatal(err)
		}
		w.Write(swing(100))
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		got := readAll(t, file.String(), Options{})
		if want := "its head does not say how many samples there are: 100 were"; got.err != nil || len(got.samples) != 100 || got.told != want {
			t.Errorf("%v: got %d samples, told %q, %v", f, len(got.samples), got.told, got.err)
		}
	}
}

// A file that begins further on in what it is written to is patched there.
func TestWriteBehindOther(t *testing.T) {
	file := &disk{}
	io.WriteString(file, "in front")
	w, err := NewWriter(file, 48000, PCM24)
	if err != nil {
		t.Fatal(err)
	}
	w.Write([]float32{0.25})
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	rest, front := strings.CutPrefix(string(file.bytes), "in front")
	got := readAll(t, rest, Options{})
	if !front || got.err != nil || got.told != "" || len(got.samples) != 1 || got.samples[0] != 0.25 {
		t.Errorf("got %+v of % x", got, file.bytes)
	}
}

// A file that is opened for appending takes nothing elsewhere: its sizes say that the
// length is not known, and nothing stands behind the samples.
func TestWriteAppending(t *testing.T) {
	for _, front := range []string{"", "in front"} {
		name := filepath.Join(t.TempDir(), "x.wav")
		if err := os.WriteFile(name, []byte(front), 0o600); err != nil {
			t.Fatal(err)
		}
		file, err := os.OpenFile(name, os.O_APPEND|os.O_WRONLY, 0)
		if err != nil {
			t.Fatal(err)
		}
		defer file.Close()
		w, err := NewWriter(file, 48000, PCM16)
		if err != nil {
			t.Fatal(err)
		}
		w.Write([]float32{0.25, -0.25})
		if err := w.Close(); err != nil {
			t.Errorf("behind %q: %v", front, err)
		}
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		got := readAll(t, strings.TrimPrefix(string(text), front), Options{})
		if want := "its head does not say how many samples there are: 2 were"; got.err != nil || got.told != want || len(text) != len(front)+44+4 {
			t.Errorf("behind %q: %d bytes, told %q, %v; want %d, told %q", front, len(text), got.told, got.err, len(front)+48, want)
		}
	}
}

func TestWriterRefuses(t *testing.T) {
	const long = "a WAV file holds 4 GiB at most, which is 12h25m39s at 48000 samples a second of 16 bits"
	w, err := NewWriter(io.Discard, 48000, PCM16)
	if err != nil {
		t.Fatal(err)
	}
	w.samples = w.most - 1
	if err := w.Write([]float32{0}); err != nil {
		t.Errorf("last sample that fits: %v", err)
	}
	if err := w.Write([]float32{0}); err == nil || err.Error() != long {
		t.Errorf("got %v, want %s", err, long)
	}
	if size := int64(w.head.size) + 2*w.most; size > math.MaxUint32+chunkHead-1 || size < math.MaxUint32-2 {
		t.Errorf("largest file: %d bytes", size)
	}
	if err := w.Close(); err == nil || err.Error() != long {
		t.Errorf("Close: got %v, want %s", err, long)
	}
	w, _ = NewWriter(io.Discard, 48000, Float32)
	err = w.Write([]float32{0, 1, float32(math.NaN())})
	if want := "sample 2 is NaN: want a number"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
	for _, c := range []struct {
		rate int
		f    Format
		want string
	}{
		{0, PCM16, "a WAV file of 16 bits cannot have 0 samples a second: want 1 to 2147483647"},
		{1 << 31, PCM24, "a WAV file of 24 bits cannot have 2147483648 samples a second: want 1 to 1431655765"},
		{48000, Float64, "a WAV file is not written in format 6"},
	} {
		if _, err := NewWriter(io.Discard, c.rate, c.f); err == nil || err.Error() != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
	}
}

// Python's module wave reads what the writer writes, and it is the same.
func TestPythonReads(t *testing.T) {
	const script = `
import sys, wave
w = wave.open(sys.argv[1])
p = w.getparams()
print(p.nchannels, p.sampwidth, p.framerate, p.nframes, p.comptype)
b, n = w.readframes(p.nframes), p.sampwidth
for i in range(0, len(b), n):
    print(b[i] - 128 if n == 1 else int.from_bytes(b[i:i+n], "little", signed=True))
`
	dir := t.TempDir()
	for _, f := range []Format{PCM8, PCM16, PCM24, PCM32} {
		name := filepath.Join(dir, f.String())
		if err := os.WriteFile(name, []byte(written(t, 19200, f, 0, 0.5, -0.25, -1, 1)), 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("python3", "-c", script, name).Output()
		if err != nil {
			leaveOut(t, err)
		}
		want := map[Format]string{
			PCM8:  "1 1 19200 5 NONE 0 64 -32 -128 127",
			PCM16: "1 2 19200 5 NONE 0 16384 -8192 -32768 32767",
			PCM24: "1 3 19200 5 NONE 0 4194304 -2097152 -8388608 8388607",
			PCM32: "1 4 19200 5 NONE 0 1073741824 -536870912 -2147483648 2147483647",
		}[f]
		if got := strings.Join(strings.Fields(string(out)), " "); got != want {
			t.Errorf("%v: got %s, want %s", f, got, want)
		}
	}
}

// sox reads all formats, floating point too, without a warning.
func TestSoxReads(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x.wav")
	for _, f := range allFormats {
		if err := os.WriteFile(name, []byte(written(t, 48000, f, 0.5, -0.25, 0.125)), 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command("sox", "-D", name, "-t", "dat", "-").CombinedOutput()
		if err != nil {
			leaveOut(t, err)
		}
		want := "; Sample Rate 48000 ; Channels 1 0 0.5 2.0833333e-05 -0.25 4.1666667e-05 0.125"
		if got := strings.Join(strings.Fields(string(out)), " "); got != want {
			t.Errorf("%v: got %s, want %s", f, got, want)
		}
	}
}
