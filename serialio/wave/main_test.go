package wave

import (
	"errors"
	"io"
	"math"
	"os"
	"strings"
	"testing"
	"testing/iotest"
)

// leaveOut leaves a test out that cannot be run here for want of something; in CI
// nothing is.
func leaveOut(t *testing.T, why error) {
	t.Helper()
	if ci := os.Getenv("CI"); ci == "1" || ci == "true" {
		t.Fatal(why)
	}
	t.Skip(why)
}

// result is everything that a waveform yields.
type result struct {
	rate    float64
	what    string
	told    string
	samples []float32
	err     error // nil at the end
}

// readAll reads a waveform in whole and byte by byte, which must be the same.
func readAll(t *testing.T, file string, o Options) result {
	t.Helper()
	got := readFrom(strings.NewReader(file), o)
	slow := readFrom(iotest.OneByteReader(strings.NewReader(file)), o)
	if !same(got, slow) {
		t.Errorf("got %+v, and byte by byte %+v", got, slow)
	}
	return got
}

func same(a, b result) bool {
	text := func(err error) string {
		if err == nil {
			return ""
		}
		return err.Error()
	}
	if len(a.samples) != len(b.samples) || a.rate != b.rate || a.what != b.what || a.told != b.told || text(a.err) != text(b.err) {
		return false
	}
	for i, sample := range a.samples {
		if sample != b.samples[i] {
			return false
		}
	}
	return true
}

func readFrom(r io.Reader, o Options) (res result) {
	rd, err := Open(r, "trace", o)
	if err != nil {
		return result{err: err}
	}
	res.rate, res.what = rd.Rate(), rd.What()
	room := make([]float32, 7)
	for {
		n, err := rd.Read(room)
		if n == 0 && err == nil {
			return result{err: io.ErrNoProgress}
		}
		res.samples = append(res.samples, room[:n]...)
		if err == nil {
			continue
		}
		if n, again := rd.Read(room); n != 0 || again != err {
			err = errors.New("something else when called again")
		}
		res.told = rd.Told()
		if err != io.EOF {
			res.err = err
		}
		return res
	}
}

// written is a WAV file of samples.
func written(t *testing.T, rate int, f Format, samples ...float32) string {
	t.Helper()
	file := &disk{}
	w, err := NewWriter(file, rate, f)
	if err == nil {
		err = errors.Join(w.Write(samples), w.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
	return string(file.bytes)
}

// disk is a file in memory.
type disk struct {
	bytes []byte
	at    int
}

func (d *disk) Write(b []byte) (int, error) {
	d.bytes = append(d.bytes, make([]byte, max(0, d.at+len(b)-len(d.bytes)))...)
	d.at += copy(d.bytes[d.at:], b)
	return len(b), nil
}

func (d *disk) WriteAt(b []byte, at int64) (int, error) {
	return copy(d.bytes[min(int(at), len(d.bytes)):], b), nil
}

func (d *disk) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekStart:
		d.at = int(offset)
	case io.SeekCurrent:
		d.at += int(offset)
	default:
		return 0, errors.ErrUnsupported
	}
	return int64(d.at), nil
}

// swing are samples that reach every part of the scale.
func swing(n int) []float32 {
	samples := make([]float32, n)
	for i := range samples {
		samples[i] = float32(0.97 * math.Sin(2*math.Pi*float64(i)/37))
	}
	return samples
}

// changed is a file with some bytes in place of others.
func changed(file string, at int, by string) string {
	return file[:at] + by + file[at+len(by):]
}
