package wave

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
)

// wavOf is a WAV file: chunks behind "RIFF", its size and "WAVE".
func wavOf(chunks ...string) string {
	all := "WAVE" + strings.Join(chunks, "")
	return "RIFF" + le32(len(all)) + all
}

// chunkOf is a chunk, which is padded.
func chunkOf(name, data string) string {
	return name + le32(len(data)) + data + strings.Repeat("\x00", len(data)%2)
}

// formOf is how samples stand.
func formOf(code, channels, rate, bits int) string {
	block := channels * bits / 8
	return chunkOf("fmt ", le16(code)+le16(channels)+le32(rate)+le32(rate*block)+le16(block)+le16(bits))
}

func le16(n int) string { return string(binary.LittleEndian.AppendUint16(nil, uint16(n))) }
func le32(n int) string { return string(binary.LittleEndian.AppendUint32(nil, uint32(n))) }
func le64(n int) string { return string(binary.LittleEndian.AppendUint64(nil, uint64(n))) }

const (
	four   = "\x00\x00\x00\x40\x00\xc0\x00\x80" // 0, 0.5, -0.5, -1 in 16 bits
	unsaid = "\xff\xff\xff\xff"
)

// extensible is the code of a format in the longer form, and what follows it.
func extensible(code, channels, rate, bits int, behind string) string {
	form := formOf(codeExtensible, channels, rate, bits)[chunkHead:]
	return chunkOf("fmt ", form+le16(22)+le16(bits)+le32(0)+le16(code)+behind)
}

func TestReadWAV(t *testing.T) {
	mono := formOf(1, 1, 48000, 16)
	double := func(v float64) string { return le64(int(math.Float64bits(v))) }
	for _, c := range []struct {
		name, file string
		o          Options
		want       []float32
		what, told string
	}{
		{name: "plain", file: wavOf(mono, chunkOf("data", four)), want: []float32{0, 0.5, -0.5, -1}},
		{name: "second channel", file: wavOf(formOf(1, 2, 48000, 16), chunkOf("data", four)), o: Options{Channel: 2}, want: []float32{0.5, -1},
			what: "WAV, channel 2 of 2, 48000 samples a second, 16 bits"},
		{name: "64 channels", file: wavOf(formOf(1, 64, 48000, 8), chunkOf("data", strings.Repeat("\x80", 63)+"\xc0"+strings.Repeat("\x80", 63)+"\x40")), o: Options{Channel: 64}, want: []float32{0.5, -0.5}},
		{name: "unknown and odd chunks", file: wavOf(chunkOf("junk", "abc"), mono, chunkOf("LIST", "x"), chunkOf("data", four), chunkOf("LIST", "more")), want: []float32{0, 0.5, -0.5, -1}},
		{name: "extensible", file: wavOf(extensible(1, 1, 48000, 16, string(guid)), chunkOf("data", four)), want: []float32{0, 0.5, -0.5, -1}},
		{name: "float 64", file: wavOf(formOf(3, 1, 48000, 64), chunkOf("data", double(0.25)+double(-7.5))), want: []float32{0.25, -7.5},
			what: "WAV, 48000 samples a second, float of 64 bits"},
		{name: "24 bits of which the last sample is odd", file: wavOf(formOf(1, 1, 48000, 24), chunkOf("data", "\x00\x00\x40")), want: []float32{0.5}},
		{name: "RF64", file: "RF64" + unsaid + "WAVE" + chunkOf("ds64", le64(80)+le64(8)+le64(4)+le32(0)) + mono + "data" + unsaid + four + chunkOf("LIST", "more"), want: []float32{0, 0.5, -0.5, -1}},
		{name: "no samples", file: wavOf(mono, chunkOf("data", "")), want: nil},
		{name: "no samples, but a chunk", file: wavOf(mono, chunkOf("data", ""), chunkOf("LIST", "more")), want: nil},
		{name: "size 0", file: wavOf(mono, chunkOf("data", "")) + four, want: []float32{0, 0.5, -0.5, -1},
			told: "its head says that there are 0 samples: 4 were"},
		{name: "size not known", file: "RIFF" + unsaid + "WAVE" + mono + "data" + unsaid + four, want: []float32{0, 0.5, -0.5, -1},
			told: "its head does not say how many samples there are: 4 were"},
		{name: "larger than the file", file: wavOf(mono, "data"+le32(1000)+four), want: []float32{0, 0.5, -0.5, -1},
			told: "its head says that there are 500 samples: 4 were"},
		{name: "smaller than the file", file: wavOf(mono, chunkOf("data", four)) + four + four, want: []float32{0, 0.5, -0.5, -1, 0, 0.5, -0.5, -1, 0, 0.5, -0.5, -1},
			told: "its head says that there are 4 samples: 12 were"},
		{name: "cut inside a sample", file: wavOf(mono, "data"+le32(1000)+four[:7]), want: []float32{0, 0.5, -0.5},
			told: "its head says that there are 500 samples: 3 were\nit ends inside a sample, of which there are 1 of 2 bytes"},
		{name: "RF64 of a recorder that was stopped", file: "RF64" + unsaid + "WAVE" + chunkOf("ds64", le64(0)+le64(0)+le64(0)+le32(0)) + mono + "data" + unsaid + four, want: []float32{0, 0.5, -0.5, -1},
			told: "its head does not say how many samples there are: 4 were"},
		{name: "64-bit size that nothing has", file: "RF64" + unsaid + "WAVE" + chunkOf("ds64", le64(-1)+le64(-1)+le64(0)+le32(0)) + mono + "data" + unsaid + four, want: []float32{0, 0.5, -0.5, -1},
			told: fmt.Sprintf("its head says that there are %d samples: 4 were", math.MaxInt64/4)},
	} {
		got := readAll(t, c.file, c.o)
		if got.err != nil || fmt.Sprint(got.samples) != fmt.Sprint(c.want) || got.told != c.told || got.rate != 48000 {
			t.Errorf("%s: got %v at %v, told %q, %v; want %v, told %q", c.name, got.samples, got.rate, got.told, got.err, c.want, c.told)
		}
		if c.what != "" && got.what != c.what {
			t.Errorf("%s: got %q, want %q", c.name, got.what, c.what)
		}
	}
}

func TestWrongWAV(t *testing.T) {
	mono, data := formOf(1, 1, 48000, 16), chunkOf("data", four)
	const notRead = " is not read: want PCM (1) or floating point (3)"
	const wantRate = "want 8000 or more, which the tones need, and at most 1e9"
	for _, c := range []struct {
		file string
		o    Options
		want string
	}{
		{"", Options{}, "trace is empty"},
		{"RIFF", Options{}, "trace: byte 4: file ends inside its first 12 bytes: want a whole head and samples"},
		{"RIFX" + le32(36) + "WAVE", Options{}, "trace: byte 0: its numbers begin with the high byte (RIFX): want RIFF"},
		{"RIFF" + le32(36) + "AVI ", Options{}, `trace: byte 8: a RIFF file of kind "AVI ": want WAVE`},
		{wavOf(mono)[:30], Options{}, `trace: byte 30: file ends inside chunk "fmt ": want a whole head and samples`},
		{wavOf(mono) + "dat", Options{}, "trace: byte 39: file ends inside the head of a chunk: want a whole head and samples"},
		{wavOf(mono), Options{}, `trace: byte 36: file ends without samples: want a chunk "data"`},
		{wavOf(data, mono), Options{}, `trace: byte 12: samples before it is said how they stand: want a chunk "fmt " in front`},
		{wavOf(mono, "LIST"+le32(1<<31)+"abc"), Options{}, `trace: byte 36: chunk "LIST" of 2147483648 bytes goes beyond the end of the file, and no samples came`},
		{wavOf(formOf(6, 1, 48000, 8), data), Options{}, "trace: byte 20: format 6 (A-law)" + notRead},
		{wavOf(formOf(2, 1, 48000, 8), data), Options{}, "trace: byte 20: format 2 (ADPCM)" + notRead},
		{wavOf(formOf(999, 1, 48000, 8), data), Options{}, "trace: byte 20: format 999" + notRead},
		{wavOf(extensible(7, 1, 48000, 8, string(guid)), data), Options{}, "trace: byte 44: format 7 (µ-law)" + notRead},
		{wavOf(extensible(1, 1, 48000, 16, strings.Repeat("x", 14)), data), Options{}, "trace: byte 44: a format of somebody's own is not read: want PCM (1) or floating point (3)"},
		{wavOf(formOf(codeExtensible, 1, 48000, 16), data), Options{}, `trace: byte 16: chunk "fmt " of 16 bytes: want 40 or more for an extensible format`},
		{wavOf(chunkOf("fmt ", "short"), data), Options{}, `trace: byte 16: chunk "fmt " of 5 bytes: want 16 or more`},
		{wavOf(formOf(1, 0, 48000, 16), data), Options{}, "trace: byte 22: 0 channels: want 1 or more"},
		{wavOf(formOf(1, 1, 0, 16), data), Options{}, "trace: byte 24: 0 samples a second: " + wantRate},
		{wavOf(formOf(1, 1, 4000, 16), data), Options{}, "trace: byte 24: 4000 samples a second: " + wantRate},
		{wavOf(formOf(1, 1, math.MaxUint32, 8), data), Options{}, "trace: byte 24: 4294967295 samples a second: " + wantRate},
		{wavOf(formOf(1, 1, 48000, 12), data), Options{}, "trace: byte 34: 12 bits a sample: want 8, 16, 24 or 32"},
		{wavOf(formOf(3, 1, 48000, 16), data), Options{}, "trace: byte 34: 16 bits a sample of floating point: want 32 or 64"},
		{changed(wavOf(mono, data), 32, le16(7)), Options{}, "trace: byte 32: 7 bytes for a sample of each channel: want 2, which 1 channels of 16 bits have"},
		{wavOf(mono, data), Options{Channel: 2}, "trace: byte 44: there is no channel 2: want 1 to 1"},
		{wavOf(mono, data), Options{Channel: -1}, "--channel -1: want 1 or more"},
		{wavOf(mono, data), Options{Rate: 48000}, "trace is a WAV file, which says its rate itself"},
		{wavOf(mono, data), Options{Columns: "volts=2"}, "trace is a WAV file, which has no columns to choose"},
		{wavOf(chunkOf("ds64", "short"), mono, data), Options{}, `trace: byte 16: chunk "ds64" of 5 bytes: want 28 or more`},
	} {
		if got := readAll(t, c.file, c.o); got.err == nil || got.err.Error() != c.want {
			t.Errorf("got %v\nwant %s", got.err, c.want)
		}
	}
}

// What is no number ends the samples, and those in front of it are good.
func TestNotFinite(t *testing.T) {
	for _, c := range []struct {
		bad  float64
		want string
	}{
		{math.NaN(), "trace: byte 76: sample 2 is NaN: want a finite number"},
		{math.Inf(-1), "trace: byte 76: sample 2 is -Inf: want a finite number"},
	} {
		number := func(v float64) string { return le32(int(math.Float32bits(float32(v)))) }
		data := number(c.bad) + number(0.5) + number(0) + number(0.25) + number(0) + number(c.bad) // the first channel may be anything
		got := readAll(t, wavOf(formOf(3, 2, 48000, 32), chunkOf("junk", "1234")+chunkOf("data", data)), Options{Channel: 2})
		if got.err == nil || got.err.Error() != c.want || len(got.samples) != 2 {
			t.Errorf("got %v behind %v\nwant %s", got.err, got.samples, c.want)
		}
	}
}

// sox writes all formats, and all are read as what went in.
func TestSoxWrites(t *testing.T) {
	dir := t.TempDir()
	in := filepath.Join(dir, "in.wav")
	want := swing(500)
	if err := os.WriteFile(in, []byte(written(t, 48000, Float32, want...)), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args string
		step float64
	}{
		{"-b 8 -e unsigned-integer", full8},
		{"-b 16 -e signed-integer", full16},
		{"-b 24 -e signed-integer", full24},
		{"-b 32 -e signed-integer", full32},
		{"-b 32 -e floating-point", full24},
		{"-b 64 -e floating-point", full24},
		{"-b 24 -e signed-integer -c 3", full24},
	} {
		out := filepath.Join(dir, "out.wav")
		args := append([]string{"-D", in}, strings.Fields(c.args)...)
		if text, err := exec.Command("sox", append(args, out)...).CombinedOutput(); err != nil {
			leaveOut(t, fmt.Errorf("%v: %s", err, text))
		}
		file, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		got := readAll(t, string(file), Options{})
		if got.err != nil || got.told != "" || len(got.samples) != len(want) {
			t.Errorf("%s: got %d samples, told %q, %v", c.args, len(got.samples), got.told, got.err)
			continue
		}
		for i, sample := range got.samples {
			if math.Abs(float64(sample-want[i])) > 0.51/c.step+1e-7 {
				t.Fatalf("%s: sample %d: got %v, want %v", c.args, i, sample, want[i])
			}
		}
	}
}

// Nothing takes room that a file only claims: 1000 bytes, which speak of 2 GiB in every
// chunk.
func TestClaimedSizesTakeNoRoom(t *testing.T) {
	file := wavOf(formOf(1, 1, 48000, 16), "data"+le32(1<<31)+strings.Repeat("\x00", 1000))
	if n := testing.AllocsPerRun(10, func() { readFrom(strings.NewReader(file), Options{}) }); n > 60 {
		t.Errorf("%v allocations", n)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	readFrom(strings.NewReader(file), Options{})
	runtime.ReadMemStats(&after)
	size := after.TotalAlloc - before.TotalAlloc
	if size > 1<<20 {
		t.Errorf("%d bytes", size)
	}
}

// What has come is handed on before more comes.
func TestReadWAVLive(t *testing.T) {
	in, out := io.Pipe()
	go func() {
		io.WriteString(out, "RIFF"+unsaid+"WAVE"+formOf(1, 1, 48000, 16)+"data"+unsaid+four)
	}()
	r, err := Open(in, "live", Options{})
	if err != nil {
		t.Fatal(err)
	}
	room := make([]float32, 100)
	for got := 0; got < 4; { // the pipe stays open: waiting for more would never end
		n, err := r.Read(room)
		if err != nil {
			t.Fatal(err)
		}
		got += n
	}
}

// The first sample that is not finite is found wherever it stands.
func TestFinite(t *testing.T) {
	for length := range 11 {
		samples := make([]float32, length)
		if got := finite(samples); got != length {
			t.Errorf("%d samples: got %d finite ones", length, got)
		}
		for at := range length {
			for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
				samples[at] = float32(v)
				if got := finite(samples); got != at {
					t.Errorf("%v at %d of %d: got %d", v, at, length, got)
				}
			}
			samples[at] = math.MaxFloat32
		}
	}
}
