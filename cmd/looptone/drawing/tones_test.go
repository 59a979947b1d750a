package drawing

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"
	"testing"
)

// A tone is a time with one frequency, from the bits of a message in closed form, beside
// the script: start 0, eight data bits from the lowest, odd parity, stop 1; a 1 is
// 1200 Hz, a 0 is 2200 Hz, 1200 bit/s.
//
// Source: from memory, as text books on asynchronous modems have it.
type tone struct{ from, until, hertz float64 }

func tonesOf(chars []byte, slow float64) []tone {
	var word []int
	for range 5 { // carrier before the first character
		word = append(word, 1)
	}
	for _, c := range chars {
		word = append(word, 0)
		for b := range 8 {
			word = append(word, int(c>>b&1))
		}
		word = append(word, 1-bits.OnesCount8(c)%2, 1)
	}
	word = append(word, 1, 1, 1) // and behind the last one
	var tones []tone
	for i, one := range word {
		t := tone{float64(i) * slow / 1200, float64(i+1) * slow / 1200, 2200}
		if one == 1 {
			t.hertz = 1200
		}
		tones = append(tones, t)
	}
	return tones
}

// at is the sine whose phase is the integral of the frequency.
func at(tones []tone, time float64) float64 {
	cycles := 0.0
	for _, t := range tones {
		if time <= t.from {
			break
		}
		cycles += t.hertz * (min(time, t.until) - t.from)
	}
	return math.Sin(2 * math.Pi * cycles)
}

// request is command 0 for polling address 0: with five preambles.
var request = []byte{0xff, 0xff, 0xff, 0xff, 0xff, 0x02, 0x80, 0x00, 0x00, 0x82}

func TestTonesAreTheClosedForm(t *testing.T) {
	for _, rate := range []float64{48000, 44100, 22050} {
		for _, slow := range []float64{1, 4, 20} {
			got := samples(t, request, rate, slow)
			want := tonesOf(request, slow)
			length := int(math.Ceil(want[len(want)-1].until*rate - 1e-6))
			if len(got) != length {
				t.Fatalf("%v samples a second, %v times slower: got %d samples, want %d", rate, slow, len(got), length)
			}
			for i, v := range got {
				if w := at(want, float64(i)/rate); math.Abs(v-w) > 1e-6 {
					t.Fatalf("%v samples a second, %v times slower: sample %d is %v, want %v", rate, slow, i, v, w)
				}
			}
		}
	}
}

// The phase has no jump: between two samples it turns by no more than the higher tone.
func TestTonesHaveNoJump(t *testing.T) {
	const rate = 48000.0
	most := 2 * math.Pi * 2200 / rate
	var before float64
	for i, v := range samples(t, request, rate, 1) {
		if i > 0 && math.Abs(v-before) > most {
			t.Fatalf("sample %d jumps from %v to %v; a sine of 2200 Hz moves by %v at the most", i, before, v, most)
		}
		before = v
	}
}

// What is handed over in pieces is what it is at once.
func TestTonesInPieces(t *testing.T) {
	var got []struct{ Pieces, Whole []float64 }
	node(t, fmt.Sprintf(`
		const tones = new Tones(%s, { rate: 8000, slow: 4 });
		const pieces = [];
		for (let at = 0; at < tones.length; at += 777) pieces.push(...tones.samples(at, 777));
		answer([{ Pieces: pieces, Whole: [...tones.samples()] }]);`, array(request)), &got)
	p, w := got[0].Pieces, got[0].Whole
	if len(p) != len(w) || len(w) == 0 {
		t.Fatalf("%d samples in pieces, %d at once", len(p), len(w))
	}
	for i := range w {
		if p[i] != w[i] {
			t.Fatalf("sample %d is %v in pieces, %v at once", i, p[i], w[i])
		}
	}
}

// The marker in the strip follows what sounds.
func TestTonesSayWhatSounds(t *testing.T) {
	var got []struct {
		Index int
		Part  float64
	}
	node(t, fmt.Sprintf(`
		const tones = new Tones(%s, { slow: 20 });
		answer([4.9, 5, 5 + 5.5, 5 + 11 * 5, 5 + 11 * 10 + 1].map((bits) => {
			const { index, part } = tones.at(bits * 20 / 1200 + 1e-9);
			return { Index: index, Part: part };
		}));`, array(request)), &got)
	for i, want := range []int{-1, 0, 0, 5, 10} {
		if got[i].Index != want {
			t.Errorf("case %d: character %d sounds, want %d", i, got[i].Index, want)
		}
	}
	if math.Abs(got[2].Part-0.5) > 1e-6 {
		t.Errorf("5.5 bits into a character %v of it are over, want 0.5", got[2].Part)
	}
}

// samples are those of the script.
func samples(t *testing.T, chars []byte, rate, slow float64) []float64 {
	t.Helper()
	raw := nodeBytes(t, fmt.Sprintf(`
		const samples = new Tones(%s, { rate: %v, slow: %v }).samples();
		process.stdout.write(Buffer.from(samples.buffer));`, array(chars), rate, slow))
	out := make([]float64, len(raw)/4)
	for i := range out {
		out[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(raw[4*i:])))
	}
	return out
}
