package payload

import (
	"encoding/hex"
	"maps"
	"math"
	"testing"

	"pgregory.net/rapid"

	"looptone/frame"
)

// drawn makes contents for a field.
func drawn(t *rapid.T, f *Field, rev uint8, short bool) Content {
	switch f.Type {
	case Float:
		return Content{Number: float64(drawFloat.Draw(t, f.Name))}
	case Time:
		return Content{Number: Duration(rapid.Uint32().Draw(t, f.Name)).Seconds()}
	case PackedASCII:
		text := AppendUnpacked(nil, rapid.SliceOfN(rapid.Byte(), f.Size, f.Size).Draw(t, f.Name))
		return Content{Text: string(trimBlanks(text, 0))}
	case Latin1:
		return Content{Text: rapid.StringMatching(`([!-~¡-ÿ ]{0,31}[!-~¡-ÿ])?`).Draw(t, f.Name)}
	case Date:
		year, month := rapid.IntRange(0, 255).Draw(t, "year"), rapid.IntRange(1, 12).Draw(t, "month")
		text, ok := AppendDateText(nil, []byte{byte(rapid.IntRange(1, 28).Draw(t, "day")), byte(month), byte(year)})
		if !ok {
			t.Fatalf("no day: year %d, month %d", year, month)
		}
		return Content{Text: string(text)}
	case Bytes:
		if f.SizeField != "" {
			return Content{Bytes: rapid.SliceOfN(rapid.Byte(), 0, 5).Draw(t, f.Name)}
		}
		least := f.Size
		if short {
			least = 1
		}
		return Content{Bytes: rapid.SliceOfN(rapid.Byte(), least, f.Size).Draw(t, f.Name)}
	}
	if f.Revision {
		return Content{Number: float64(rev)}
	}
	return Content{Number: float64(rapid.Uint32Range(0, uint32(1<<f.bits()-1)).Draw(t, f.Name))}
}

// drawnLayout picks a layout out of all, and a revision that it holds in.
func drawnLayout(t *rapid.T) (*Definition, frame.Kind, *Layout, uint8) {
	var all []*Definition
	for _, d := range All() {
		if len(d.Reply) > 0 {
			all = append(all, d)
		}
	}
	d := rapid.SampledFrom(all).Draw(t, "command")
	kind := rapid.SampledFrom([]frame.Kind{frame.STX, frame.ACK, frame.BACK}).Draw(t, "kind")
	layouts := d.layouts(kind)
	l := &layouts[rapid.IntRange(0, len(layouts)-1).Draw(t, "layout")]
	return d, kind, l, rapid.Uint8Range(l.For.From, l.For.To).Draw(t, "revision")
}

// drawnData are data that fit the layout.
func drawnData(t *rapid.T, l *Layout) (data []byte) {
	if varying(l.Head) == nil && varying(l.Group) == nil {
		n := rapid.SampledFrom(lengths(l)).Draw(t, "length")
		return rapid.SliceOfN(rapid.Byte(), n, n).Draw(t, "data")
	}
	data = drawnList(t, data, l.Head)
	for range rapid.IntRange(l.Min, l.Max).Draw(t, "slots") {
		data = drawnList(t, data, l.Group)
	}
	return data
}

// drawnList appends a list of whole fields, the last as long as another says.
func drawnList(t *rapid.T, data []byte, fields []Field) []byte {
	base, n := len(data), length(fields)
	data = append(data, rapid.SliceOfN(rapid.Byte(), n, n).Draw(t, "list")...)
	if v := varying(fields); v != nil {
		_, at := find(fields, base, v.SizeField)
		counted := rapid.SliceOfN(rapid.Byte(), 0, 255).Draw(t, v.Name)
		data[at] = byte(len(counted))
		data = append(data, counted...)
	}
	return data
}

// lengths are those that data of the layout, which does not vary in size, can have.
func lengths(l *Layout) (all []int) {
	for n := range 256 {
		if l.fits(make([]byte, n)) {
			all = append(all, n)
		}
	}
	return all
}

// ends are the numbers of head fields that can be written.
func ends(l *Layout) (all []int) {
	for n := l.Need; n <= len(l.Head); n++ {
		if l.parts(n) {
			all = append(all, n)
		}
	}
	return all
}

// What is written is read again: all commands, directions, revisions.
func TestAppendAndDecode(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, kind, l, rev := drawnLayout(t)
		given := rapid.SampledFrom(ends(l)).Draw(t, "head")
		slots := rapid.IntRange(l.Min, l.Max).Draw(t, "slots")
		src := Contents{}
		for i := range given {
			f := &l.Head[i]
			src[f.Name] = append(src[f.Name], drawn(t, f, rev, l.shortens(i)))
		}
		count(src, l.Head[:given])
		for range slots {
			for i := range l.Group {
				f := &l.Group[i]
				src[f.Name] = append(src[f.Name], drawn(t, f, rev, false))
			}
			count(src, l.Group)
		}
		for i := range l.Tail {
			f := &l.Tail[i]
			src[f.Name] = append(src[f.Name], drawn(t, f, rev, false))
		}
		data, err := l.Append(nil, src)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := l.Append(nil, uncounted(src, l)); err != nil || string(again) != string(data) {
			t.Errorf("without its counts % x is % x (%v)", data, again, err)
		}
		if !l.fits(data) {
			t.Errorf("%d bytes do not fit the layout", len(data))
		}
		r := d.Decode(nil, kind, data, rev)
		compare(t, r.Values, src)
	})
}

// count makes the last content of a list's count that of its bytes.
func count(src Contents, fields []Field) {
	if v := varying(fields); v != nil {
		counts, counted := src[v.SizeField], src[v.Name]
		counts[len(counts)-1] = Content{Number: float64(len(counted[len(counted)-1].Bytes))}
	}
}

// uncounted is src without what counts the bytes of other fields.
func uncounted(src Contents, l *Layout) Contents {
	src = maps.Clone(src)
	for _, fields := range [...][]Field{l.Head, l.Group} {
		if v := varying(fields); v != nil {
			delete(src, v.SizeField)
		}
	}
	return src
}

// compare checks that values hold what src held, each content once.
func compare(t *rapid.T, values []Value, src Contents) {
	left := 0
	for _, contents := range src {
		left += len(contents)
	}
	units := map[[2]any]bool{} // served units count once
	for i := range values {
		v := &values[i]
		c, ok := src.Content(v.Field, v.Slot)
		if !ok || v.Incomplete {
			t.Errorf("%s was not written", show(v))
			continue
		}
		left--
		if !holds(v, c) {
			t.Errorf("%s: written was %+v", show(v), c)
		}
		if name := v.Field.UnitField; name != "" {
			want := src[name][max(v.Slot, 0)].Number
			if !v.HasUnit || float64(v.Unit) != want {
				t.Errorf("%s: unit %d, want %v", show(v), v.Unit, want)
			}
			if key := [2]any{name, v.Slot}; !units[key] {
				units[key] = true
				left--
			}
		}
	}
	if left != 0 {
		t.Errorf("%d contents were not read", left)
	}
}

func holds(v *Value, c Content) bool {
	number, isNumber := v.Number()
	text, isText := v.AppendText(nil)
	switch v.Field.Type {
	case Float:
		if math.IsNaN(c.Number) || math.IsInf(c.Number, 0) {
			return !isNumber && v.Meaning() != ""
		}
		return isNumber && number == c.Number
	case PackedASCII, Latin1, Date:
		return isText && string(text) == c.Text
	case Bytes:
		return isText && string(text) == hex.EncodeToString(c.Bytes)
	}
	return isNumber && number == c.Number
}

// What is read is written again, bit for bit: every value by its bytes.
func TestDecodeAndAppend(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, kind, l, rev := drawnLayout(t)
		data := drawnData(t, l)
		if !l.fits(data) {
			t.Fatalf("% x does not fit the layout", data)
		}
		if told := toldRevision(d.layouts(kind), data); told != 0 {
			data[4] = rev
		}
		src := Contents{}
		for _, v := range d.Decode(nil, kind, data, rev).Values {
			slot := max(v.Slot, 0)
			src[v.Field.Name] = append(src[v.Field.Name], Content{Bytes: v.Raw})
			if name := v.Field.UnitField; name != "" && len(src[name]) == slot {
				src[name] = append(src[name], Content{Number: float64(v.Unit)})
			}
		}
		got, err := l.Append(nil, src)
		if err != nil || string(got) != string(data) {
			t.Fatalf("% x was written as % x (%v)", data, got, err)
		}
	})
}

// drawFloat draws numbers, and what is none: by itself rapid hardly ever does.
var drawFloat = rapid.OneOf(rapid.Float32(), rapid.SampledFrom([]float32{
	float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)), math.MaxFloat32, math.SmallestNonzeroFloat32}))
