package commandfile_test

import (
	"encoding/hex"
	"os"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
	"looptone/frame/payload/commandfile"
)

const setPoint = "../../../testdata/commands/set-point.toml"

// The published frames of a device-specific command, read by its definition.
//
// Source: Buerkert, Type 8605 description of communication (operating instructions
// supplement), p.23.
func TestPublishedSetPointFrames(t *testing.T) {
	text, err := os.ReadFile(setPoint)
	if err != nil {
		t.Fatal(err)
	}
	var b payload.Book
	if err := commandfile.Load(&b, setPoint, text); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		wire     string
		source   string
		setPoint string
	}{
		{"FF FF 02 80 92 05 01 00 00 00 00 14", "bus", "0"},
		{"FF FF 06 80 92 07 00 00 01 00 00 00 00 12", "bus", "0"},
		{"FF FF 02 80 92 05 01 42 48 00 00 1E", "bus", "50"},
		{"FF FF 06 80 92 07 00 00 01 42 48 00 00 18", "bus", "50"},
		{"FF FF 02 80 92 05 01 42 C8 00 00 9E", "bus", "100"},
		{"FF FF 06 80 92 07 00 00 01 42 C8 00 00 98", "bus", "100"},
		{"FF FF 02 80 92 05 00 00 00 00 00 15", "analog input", "0"},
	} {
		f := frameOf(t, c.wire)
		d, ok := b.Lookup(f.Number(), payload.DeviceTypeOf(f.Address))
		if !ok || !d.Write || d.Name != "write set point" {
			t.Fatalf("%s: command %d is %+v", c.wire, f.Number(), d)
		}
		values := d.Decode(nil, f.Kind, f.Payload(), 0).Values
		if len(values) != 2 {
			t.Errorf("%s: got %d values, want 2", c.wire, len(values))
			continue
		}
		if got := values[0].Meaning(); got != c.source || values[0].Field.Name != "selector" {
			t.Errorf("%s: %s is %q, want %q", c.wire, values[0].Field.Name, got, c.source)
		}
		got, _ := values[1].AppendNumber(nil)
		if string(got) != c.setPoint || values[1].UnitSymbol() != "%" || values[1].Field.Name != "set point" {
			t.Errorf("%s: %s is %s %s, want %s %%", c.wire, values[1].Field.Name, got, values[1].UnitSymbol(), c.setPoint)
		}
		encode(t, d, f, c.source, c.setPoint)
	}
}

// encode gives the same data from what a person types.
func encode(t *testing.T, d *payload.Definition, f *frame.Frame, source, setPoint string) {
	t.Helper()
	l, err := d.Layout(f.Kind, 5)
	if err != nil {
		t.Fatal(err)
	}
	contents, err := l.Parse([]string{"selector=" + source, "set_point=" + setPoint})
	if err != nil {
		t.Fatal(err)
	}
	data, err := l.Append(nil, contents)
	if err != nil || string(data) != string(f.Payload()) {
		t.Errorf("got % x, %v, want % x", data, err, f.Payload())
	}
}

func frameOf(t *testing.T, wire string) *frame.Frame {
	t.Helper()
	chars, err := hex.DecodeString(strings.ReplaceAll(wire, " ", ""))
	if err != nil {
		t.Fatal(err)
	}
	var d frame.Decoder
	var ev frame.Event
	d.Feed(chars, nil)
	d.End()
	if !d.Next(&ev) || ev.Outcome != frame.Whole {
		t.Fatalf("%s: got %v, %v", wire, ev.Outcome, ev.Err)
	}
	f := ev.Frame.Clone()
	return &f
}
