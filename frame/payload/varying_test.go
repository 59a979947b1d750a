package payload

import (
	"bytes"
	"strings"
	"testing"

	"looptone/frame"
)

// Layouts that vary in size, constructed: in the head, and in up to two slots, of
// which the first must be there.
var (
	varyingHead = Layout{For: anyRevision, Need: 1,
		Head: []Field{unsigned("page", 1), unsigned("count", 1), varies("note", "count", 255)}}
	varyingGroup = Layout{For: anyRevision, Need: 2, Head: []Field{unitCode("unit"), unsigned("page", 1)}, Min: 1, Max: 2,
		Group: []Field{unsigned("count", 1), float("level", "unit"), varies("note", "count", 255)}}
)

// What is decoded of data that are whole, cut short and too long.
func TestDecodeVaryingSizes(t *testing.T) {
	for _, c := range []struct {
		layout Layout
		data   string
		fits   bool
		want   string
	}{
		{varyingHead, "", false, ""},
		{varyingHead, "07", true, "page 7"},
		{varyingHead, "07 00", true, `page 7; count 0; note ""`},
		{varyingHead, "07 01", false, "page 7; count 1"},
		{varyingHead, "07 02 aa", false, "page 7; count 2; note (incomplete)"},
		{varyingHead, "07 02 aabb", true, `page 7; count 2; note "aabb"`},
		{varyingHead, "07 02 aabbcc", false, `page 7; count 2; note "aabb"; extra bytes "cc"`},
		{varyingGroup, "0c", false, "unit 12 kPa"},
		{varyingGroup, "0c 07", false, "unit 12 kPa; page 7"},
		{varyingGroup, "0c 07 00 41c8", false, "unit 12 kPa; page 7; [0] count 0; [0] level (incomplete)"},
		{varyingGroup, "0c 07 00 41c80000", true, `page 7; [0] count 0; [0] level 25 kPa; [0] note ""`},
		{varyingGroup, "0c 07 01 41c80000 aa 02 c3160000 bbcc", true, `page 7; [0] count 1; [0] level 25 kPa; [0] note "aa"; ` +
			`[1] count 2; [1] level -150 kPa; [1] note "bbcc"`},
		{varyingGroup, "0c 07 01 41c80000 aa 02 c3160000 bb", false, `page 7; [0] count 1; [0] level 25 kPa; [0] note "aa"; ` +
			`[1] count 2; [1] level -150 kPa; [1] note (incomplete)`},
		{varyingGroup, "0c 07 01 41c80000 aa 02", false, `page 7; [0] count 1; [0] level 25 kPa; [0] note "aa"; [1] count 2`},
		{varyingGroup, "0c 07 00 41c80000 00 c3160000 0102", false, `page 7; [0] count 0; [0] level 25 kPa; [0] note ""; ` +
			`[1] count 0; [1] level -150 kPa; [1] note ""; extra bytes "0102"`},
	} {
		d := Definition{Command: 200, Reply: []Layout{c.layout}}
		if err := d.Check(); err != nil {
			t.Fatal(err)
		}
		data := unhex(t, c.data)
		values := d.Decode(nil, frame.ACK, data, 7).Values
		if got := strings.Join(showAll(values), "; "); got != c.want {
			t.Errorf("%s: got %q, want %q", c.data, got, c.want)
		}
		if got := c.layout.fits(data); got != c.fits {
			t.Errorf("%s: fits is %v", c.data, got)
		}
		checkPartition(t, values, data)
	}
	if head, group := varyingHead.MinLen(), varyingGroup.MinLen(); head != 1 || group != 7 {
		t.Errorf("at least %d and %d bytes, want 1 and 7", head, group)
	}
}

// The revision whose layout accounts for all bytes is assumed, not the newest.
func TestChooseByVaryingSize(t *testing.T) {
	older, newer := varyingGroup, varyingHead
	older.For, newer.For = revision5, revision7
	d := Definition{Command: 200, Reply: []Layout{older, newer}}
	for data, want := range map[string]uint8{
		"0c 07 01 41c80000 aa": 5, "0c 01 aa": 7, "0c 07 01 41c80000": 7,
	} {
		if r := d.Decode(nil, frame.ACK, unhex(t, data), 0); r.Revision != want || r.Basis != Assumed {
			t.Errorf("%s: read as revision %d, %v, want %d", data, r.Revision, r.Basis, want)
		}
	}
}

// A head of varying size is written with its count, without both, and not in part.
func TestAppendVaryingHead(t *testing.T) {
	for words, want := range map[string]string{
		"page=7":                     "07",
		"page=7 note=":               "0700",
		"page=7 note=aabb":           "0702aabb",
		"page=7 count=2 note=aabb":   "0702aabb",
		"page=7 count=0":             "note is missing",
		"page=7 count=1.5 note=aabb": "count is not the number of bytes of note: got 1.5, want 2",
	} {
		got, err := varyingHead.appendWords(nil, strings.Fields(words))
		if err != nil && err.Error() != want || err == nil && !bytes.Equal(got, unhex(t, want)) {
			t.Errorf("%s: got % x, %v, want %s", words, got, err, want)
		}
	}
}

// Slots of all lengths that there are cost no allocation.
func TestVaryingSizesDoNotAllocate(t *testing.T) {
	d := Definition{Command: 200, Reply: []Layout{varyingGroup}}
	data := unhex(t, "0c 07 01 41c80000 aa 02 c3160000 bbcc")
	values := make([]Value, 0, 16)
	if n := testing.AllocsPerRun(10, func() {
		for end := range data {
			values = d.Decode(values[:0], frame.ACK, data[:end], 0).Values
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
