package view_test

import (
	"encoding/json"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"looptone/cmd/looptone/view"
	"looptone/serialio/fsk/measure"
)

// waveformReport is one of a bench, with a device that goes off too late and jumps. The
// numbers are invented.
func waveformReport() *measure.Report {
	of := func(mean, sd, least, most float64, n int) measure.Spread {
		return measure.Spread{N: n, Mean: mean, SD: sd, Least: least, Most: most}
	}
	r := &measure.Report{
		Options: measure.Options{VoltsPerUnit: 5, Ohms: 250},
		Rate:    48000, Samples: 96000, Carriers: 4, Characters: 96,
		Messages: measure.Messages{Whole: 3, Damaged: 1, Parity: 1, Preambles: of(6, 2, 5, 10, 3), LongestGap: 0.25, Response: of(0.031, 0.002, 0.028, 0.0345, 2)},
		Mark:     measure.Tone{Nominal: 1200, Hz: of(1200.4, 0.31, 1200.1, 1200.9, 4), Amplitude: of(0.05, 0.001, 0.048, 0.052, 4)},
		Space:    measure.Tone{Nominal: 2200, Hz: of(2199.2, 0.52, 2198, 2200.1, 4), Amplitude: of(0.047, 0.001, 0.045, 0.049, 4)},
		Devices:  of(0.049, 0.001, 0.047, 0.05, 2), BitRate: of(1200.2, 0.1, 1200.1, 1200.4, 4),
		Edges: measure.Edges{Count: 320, RMS: 0.011, Isochronal: of(0.04, 0.01, 0.03, 0.05, 4), StartStop: 0.031,
			JumpRMS: 16.2, LargestJump: 22, Resolution: 4.4},
		Lead: of(3.1, 0.2, 3, 3.4, 4), Tail: of(4, 2, 2, 7.25, 4), Rise: of(0.4, 0, 0.4, 0.4, 4), Decay: of(0.9, 0.1, 0.8, 1, 4),
		Under:   of(0.21, 0.03, 0.2, 0.8, 9000),
		Talking: measure.Noise{Seconds: 0.8, Below: 0.00004, In: 0.0003, Above: 0.0002, HasTop: true},
		Silent:  measure.Noise{Seconds: 0.3, Below: 0.00004, In: 0.0001, Above: 0.0002, HasTop: true},
		Eye:     measure.Eye{Columns: 4, Rows: 4, Reach: 1.4, Count: []int64{0, 3, 3, 0, 2, 0, 0, 2, 2, 0, 0, 2, 0, 9, 9, 0}, Bits: 900, Open: 1.31},
		Glimpse: measure.Glimpse{Edges: []float64{0, 1}, Seconds: 0.102},
	}
	for n := range 520 {
		bit := float64(n)/40 - 2
		r.Glimpse.Bit = append(r.Glimpse.Bit, bit)
		r.Glimpse.Sample = append(r.Glimpse.Sample, 0.025*math.Cos(2*math.Pi*bit))
	}
	return r
}

func TestWaveformText(t *testing.T) {
	want, err := os.ReadFile("testdata/waveform.txt")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), view.Waveform("bench.wav", waveformReport())); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// TestWaveformAnswers: what is said first, by what was found.
func TestWaveformAnswers(t *testing.T) {
	inOrder := waveformReport()
	inOrder.Edges.JumpRMS, inOrder.Tail.Most = 0, 4
	inOrder.Messages.Parity, inOrder.Messages.Damaged = 0, 0
	for want, r := range map[string]*measure.Report{
		"Not in order: phase, carrier off, parity and framing, messages.": waveformReport(),
		"Everything that could be measured is in order.":                  inOrder,
	} {
		if got := strings.Split(view.Waveform("x", r), "\n")[2]; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// TestWaveformJSON: every object of its kind, in their order, with what it is of.
func TestWaveformJSON(t *testing.T) {
	r := waveformReport()
	kinds := map[string]int{}
	for line := range strings.Lines(string(view.AppendWaveform(nil, "bench.wav", r))) {
		var o map[string]any
		if err := json.Unmarshal([]byte(line), &o); err != nil {
			t.Fatalf("%v: %s", err, line)
		}
		for _, kind := range []string{"waveform", "quantity", "edges", "noise", "eye", "limit"} {
			if _, ok := o[kind]; ok {
				kinds[kind]++
			}
		}
		switch o["limit"] {
		case "carrier off":
			if o["verdict"] != "broken" || o["got"] != 7.25 || o["most"] != 5.0 || o["least"] != nil || o["unit"] != "bits" {
				t.Errorf("got %s", line)
			}
		}
	}
	want := map[string]int{"waveform": 1, "quantity": 16, "edges": 1, "noise": 3, "eye": 1, "limit": len(measure.Limits)}
	if diff := cmp.Diff(want, kinds); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	unscaled := waveformReport()
	unscaled.Options = measure.Options{}
	got := string(view.AppendWaveform(nil, `a "b".wav`, unscaled))
	for _, want := range []string{
		`{"waveform":"a \"b\".wav","in_order":false,"seconds":2,"rate":48000,"volts_per_unit":null,"ohms":null,"carriers":4,`,
		`{"quantity":"mark, peak to peak","unit":"units","mean":0.05,"deviation":0.001,"least":0.048,"most":0.052,"times":4}`,
		`{"limit":"amplitude","verdict":"not measurable","got":null,"least":null,"most":null,"unit":null,`,
		`{"eye":0.655,"bits":900,"reach":1.4,"counts":[[0,3,3,0],[2,0,0,2],[2,0,0,2],[0,9,9,0]]}`,
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s in\n%s", want, got)
		}
	}
}

// TestWaveformPicture reads the picture back: everything within it, no text upon another,
// and the eye, the edges and the signal where they should be.
func TestWaveformPicture(t *testing.T) {
	few, empty := waveformReport(), waveformReport()
	few.Options = measure.Options{}
	few.Lead, few.Tail, few.Messages.Response = measure.Spread{}, measure.Spread{}, measure.Spread{}
	empty.Glimpse, empty.Eye = measure.Glimpse{}, measure.Eye{Columns: 2, Rows: 2, Reach: 1, Count: make([]int64, 4), Open: math.Inf(1)}
	for name, r := range map[string]*measure.Report{
		"bench.wav":                        waveformReport(),
		"few":                              few,
		"empty":                            empty,
		strings.Repeat("<long> & wide", 9): waveformReport(),
	} {
		s := readSVG(t, view.AppendWaveformPicture(nil, name, r))
		checkPieces(t, s)
		if s.title != name+": tones on the loop" || s.desc == "" {
			t.Errorf("title %q, description %q", s.title, s.desc)
		}
		classes := map[string]int{}
		for _, p := range s.pieces {
			classes[p.class]++
		}
		want := map[string]int{"eye": 3, "edge": 2, "signal": 1}
		if r == empty {
			want = map[string]int{}
		}
		for _, class := range []string{"eye", "edge", "signal"} {
			if classes[class] != want[class] {
				t.Errorf("%s: %d of %s, want %d", name, classes[class], class, want[class])
			}
		}
	}
}
