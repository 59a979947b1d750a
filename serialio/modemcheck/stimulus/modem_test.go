package stimulus

import (
	"bytes"
	"encoding/hex"
	"io"
	"math/bits"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/serialio/capture"
	"looptone/serialio/fsk"
	"looptone/serialio/modemcheck"
	"looptone/serialio/wave"
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

// take reads a capture.
func take(t *testing.T, name string, r capture.Reader) *Heard {
	t.Helper()
	h := &Heard{Name: name}
	for rec := new(capture.Record); ; {
		err := r.Next(rec)
		if err == io.EOF {
			return h
		}
		if err != nil {
			t.Fatal(err)
		}
		h.Take(rec)
	}
}

// TestNoiseOwnDemodulatorKeepsEverything has ours hear the whole set from the files. It takes
// carriers of any level, which a modem must not.
func TestNoiseOwnDemodulatorKeepsEverything(t *testing.T) {
	s := newSet(t, 3)
	dir := filepath.Join(t.TempDir(), "set")
	if err := s.Write(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	var heard []*Heard
	for i := range s.Waveforms {
		name := filepath.Join(dir, s.Waveforms[i].File)
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		w, err := wave.Open(f, name, wave.Options{})
		if err != nil {
			t.Fatal(err)
		}
		heard = append(heard, take(t, name, fsk.NewReader(w, name)))
	}
	r := score(t, s, heard...)
	want := map[string]string{"level-70": "broken", "tone-70": "broken"}
	if diff := cmp.Diff(want, findings(r)); diff != "" {
		t.Error(diff)
	}
	for i := range r.Scores {
		sc := &r.Scores[i]
		t.Logf("%-14s %d sent, %d lost, %d wrong, %d extra", sc.Waveform.Name, sc.Way.Sent, sc.Way.Lost, sc.Way.Wrong, sc.Way.Stray.All())
		if v := sc.Verdicts; len(v) > 0 && v[0].Finding == modemcheck.Broken && want[sc.Waveform.Name] == "" {
			t.Errorf("%s: %s: %s", sc.Waveform.Name, v[0].Name, v[0].Says)
		}
	}
}

// TestMinimodemIsScored has another program be the modem. It knows no carriers and
// garbles characters at their beginning, so only messages count; and it cannot bear what
// lies under the tones, which is seen. Behind a high-pass most messages come again: not all, as
// that one rings where a carrier goes on.
func TestMinimodemIsScored(t *testing.T) {
	for _, program := range []string{"minimodem", "sox"} {
		if _, err := exec.LookPath(program); err != nil {
			leaveOut(t, err)
		}
	}
	names := []string{"clean", "level-120", "level-250", "clock-fast", "clock-slow", "tones-low", "hum-50", "preambles-5", "preambles-20", "cable"}
	s := fewOf(newSet(t, 1), names...)
	dir := filepath.Join(t.TempDir(), "set")
	if err := s.Write(t.Context(), dir); err != nil {
		t.Fatal(err)
	}
	var heard []*Heard
	for i := range s.Waveforms {
		heard = append(heard, heardByMinimodem(t, filepath.Join(dir, s.Waveforms[i].File)))
	}
	r := score(t, s, heard...)
	for i := range r.Scores {
		sc := &r.Scores[i]
		v := sc.Verdicts[0]
		if want := sc.Waveform.Name == "hum-50"; v.Name != "messages" || (v.Finding == modemcheck.Broken) != want {
			t.Errorf("%s: %s: %v: %s", sc.Waveform.Name, v.Name, v.Finding, v.Says)
		}
	}
	hum := s.Waveforms[s.named("hum-50")]
	r = score(t, s, heardByMinimodem(t, highPass(t, filepath.Join(dir, hum.File))))
	got := r.Scores[s.named("hum-50")].Way.Messages
	if got.Whole < 4 || got.Lost > 0 {
		t.Errorf("behind a high-pass: %+v", got)
	}
}

// highPass is a file behind a high-pass of 300 Hz.
func highPass(t *testing.T, file string) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), filepath.Base(file))
	if said, err := exec.Command("sox", file, out, "highpass", "300").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v: %s", err, said)
	}
	return out
}

// heardByMinimodem is what a UART makes of the bits that minimodem hears, as a capture in hex.
func heardByMinimodem(t *testing.T, file string) *Heard {
	t.Helper()
	out, err := exec.Command("minimodem", "--rx", "-q", "--binary-raw", "11", "-c", "0", "-l", "1000", "-M", "1200", "-S", "2200", "-f", file, "1200").Output()
	if err != nil {
		t.Fatalf("minimodem: %v", err)
	}
	text := hex.EncodeToString(uart(bytes.ReplaceAll(out, []byte("\n"), nil)))
	r, _, err := capture.Open(bytes.NewReader([]byte(text)), file, "hex")
	if err != nil {
		t.Fatal(err)
	}
	return take(t, file, r)
}

// uart makes characters of bits: start 0, 8 data bits, odd parity, stop 1. What has no stop
// bit, or a wrong parity, is none.
func uart(line []byte) (chars []byte) {
	for i := 0; i+11 <= len(line); i++ {
		var c byte
		for k, b := range line[i+1 : i+9] {
			c |= (b - '0') << k
		}
		odd := (bits.OnesCount8(c)+int(line[i+9]-'0'))%2 == 1
		if line[i] == '0' && line[i+10] == '1' && odd {
			chars = append(chars, c)
			i += 10
		}
	}
	return chars
}
