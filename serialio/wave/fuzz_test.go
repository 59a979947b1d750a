package wave

import (
	"io"
	"strings"
	"testing"
	"testing/iotest"
)

// FuzzWAV and FuzzCSVWave look for what no reader may do: stop without an error, answer
// otherwise when the file comes in other pieces, or give more samples than there are
// bytes, or such as are no numbers.
func FuzzWAV(f *testing.F) {
	mono := formOf(1, 1, 48000, 16)
	f.Add(wavOf(mono, chunkOf("data", four)), 0)
	f.Add(wavOf(formOf(3, 2, 48000, 32), chunkOf("LIST", "odd"), chunkOf("data", four+four))+four, 2)
	f.Add(wavOf(extensible(1, 1, 48000, 24, string(guid)), "data"+unsaid+four), 1)
	f.Add("RF64"+unsaid+"WAVE"+chunkOf("ds64", le64(-1)+le64(8)+le64(4)+le32(0))+mono+"data"+unsaid+four, 0)
	f.Fuzz(func(t *testing.T, file string, channel int) {
		checkReader(t, "RIFF"+strings.TrimPrefix(file, "RIFF"), Options{Channel: channel})
	})
}

func FuzzCSVWave(f *testing.F) {
	f.Add("Time,CH1\ns,mV\n0,1\n1e-4,2\n2e-4,-1.5\n", "", 0.0)
	f.Add("a;b\n\"0,0\";\"1,5\"\n0,0001;2\n", "time=1,volts=b", 0.0)
	f.Add("1\n2\n\n3", "", 9600.0)
	f.Add("0\t1\n0\t2\n0\t3\n1e-3\t4\n", "time=1", 0.0)
	f.Fuzz(func(t *testing.T, file, columns string, rate float64) {
		checkReader(t, file, Options{Columns: columns, Rate: rate})
		IsCSV([]byte(file))
	})
}

func checkReader(t *testing.T, file string, o Options) {
	t.Helper()
	got := readFrom(strings.NewReader(file), o)
	if slow := readFrom(iotest.OneByteReader(strings.NewReader(file)), o); !same(got, slow) {
		t.Errorf("got %+v, and byte by byte %+v", got, slow)
	}
	if got.err == io.ErrNoProgress || len(got.samples) > len(file) {
		t.Errorf("got %d samples of %d bytes, %v", len(got.samples), len(file), got.err)
	}
	for i, sample := range got.samples {
		if !isFinite(sample) {
			t.Errorf("sample %d is %v", i, sample)
		}
	}
	if (got.what != "") != (got.rate >= leastRate) {
		t.Errorf("got %q at %v", got.what, got.rate)
	}
}
