package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"looptone/frame"
	"looptone/serialio"
)

// overheard notes what a tap hands on.
type overheard []string

func (o *overheard) Heard(stream uint8, a *frame.Arrival) {
	*o = append(*o, fmt.Sprintf("%d % x carrier %d", stream, a.Chars, a.Carrier))
}
func (o *overheard) Gone(stream uint8, _ time.Time, why string) {
	*o = append(*o, fmt.Sprintf("%d gone %s", stream, why))
}
func (o *overheard) Resumed(stream uint8, _ time.Time) {
	*o = append(*o, fmt.Sprintf("%d again", stream))
}

// What a port has sent itself is nobody's message at its end: it was recorded at the
// other one. What has come back otherwise is recorded, and not passed on.
func TestTapLeavesEchoesOut(t *testing.T) {
	var heard overheard
	onward := newRelay(func(string) {})
	onward.wire = somePort(t)
	tap := tap{stream: 1, to: &heard, onward: onward}
	for _, a := range []frame.Arrival{
		{Chars: []byte{1}}, {Chars: []byte{2}, Echo: frame.EchoWhole}, {Carrier: 1}, {Chars: []byte{3}, Echo: frame.EchoDamaged}, {Chars: []byte{4}},
	} {
		tap.hear(&a)
	}
	want := []string{"1 01 carrier 0", "1  carrier 1", "1 03 carrier 0", "1 04 carrier 0"}
	if !slices.Equal(heard, want) {
		t.Errorf("got %q, want %q", heard, want)
	}
	if _, chars := onward.waiting(); !slices.Equal(chars, []byte{1, 4}) {
		t.Errorf("passed on was % x, want 01 04", chars)
	}
}

// A relay whose wire takes nothing drops what is too much, and says so once for each wire.
func TestRelayDrops(t *testing.T) {
	var said []string
	r := newRelay(func(text string) { said = append(said, text) })
	r.pass(make([]byte, 10)) // for nobody
	if _, chars := r.waiting(); len(chars) > 0 {
		t.Errorf("%d characters wait for nobody", len(chars))
	}
	r.connect(somePort(t))
	for range 10 {
		r.pass(make([]byte, mostWaiting/4))
	}
	if len(r.chars) > mostWaiting || len(said) != 1 || !strings.Contains(said[0], "does not take what is passed on: it is dropped") {
		t.Errorf("%d characters wait, said was %q", len(r.chars), said)
	}
}

// Without times, a message ends where the carrier does, all the same.
func TestCutWithoutTimes(t *testing.T) {
	out, _ := saidOfStreams(t, decodeOptions{}, `! stream 0 "loop" times=none`, "0 0 ff ff 02 80 01", "0 0 carrier off", "0 0 "+ask)
	checkOutput(t, out, `line 3     damage: frame at byte 2: byte count at byte 5 is missing: the input ends, or falls silent: 02 80 01  (line 3, column 17)
line 5     primary → polling address 0  read primary variable  (again)
`)
}

func TestSizeFlag(t *testing.T) {
	for _, tt := range []struct {
		text string
		want int64
		err  string
	}{
		{"20000", 20000, ""},
		{"16KiB", 16384, ""},
		{"1MB", 1_000_000, ""},
		{"2GiB", 2 << 30, ""},
		{"17000B", 17000, ""},
		{"16384", 16384, ""},
		{"16383", 0, "16383 is out of range, want 16KiB to 4GiB"},
		{"5GiB", 0, "5GiB is out of range, want 16KiB to 4GiB"},
		{"9000000000GiB", 0, `"9000000000GiB" is no size, want for instance 500kB, 64MiB or 2GiB`},
		{"-1", 0, `"-1" is no size, want for instance 500kB, 64MiB or 2GiB`},
		{"1.5MiB", 0, `"1.5MiB" is no size, want for instance 500kB, 64MiB or 2GiB`},
		{"MiB", 0, `"MiB" is no size, want for instance 500kB, 64MiB or 2GiB`},
		{"", 0, `"" is no size, want for instance 500kB, 64MiB or 2GiB`},
	} {
		s := sizeFlag{least: 16 << 10, most: 4 << 30}
		err := s.Set(tt.text)
		if got := fmt.Sprint(err); s.bytes != tt.want || got != tt.err && !(err == nil && tt.err == "") {
			t.Errorf("%q: %d, %v, want %d, %s", tt.text, s.bytes, err, tt.want, tt.err)
		}
	}
	for _, n := range []int64{1, 1000, 1024, 3 << 20, 1 << 40} {
		var s sizeFlag
		if err := s.Set(sizeText(n)); err != nil || s.bytes != n {
			t.Errorf("%d is written %q, read %d, %v", n, sizeText(n), s.bytes, err)
		}
	}
}

// somePort is an open port that nobody reads.
func somePort(t *testing.T) *serialio.Port {
	t.Helper()
	l, err := serialio.Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	p, err := serialio.Dial(t.Context(), l.Addr(), serialio.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close() })
	return p
}
