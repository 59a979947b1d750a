package payload

import (
	"encoding/hex"
	"encoding/json"
	"math"
	"testing"
	"unicode/utf8"

	"looptone/frame"
)

// Any data of any command in any revision: no byte is claimed that is not
// there, none is left over, and what is printed is valid.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{"", "0c41c80000", "fe00110505010203010001020000", "00f6410c41c80000c000007d00",
		"fee2110507010208000001020503000701600160010100", "00f6417fbf0000", "ffffffffffffffffffffffffffffffff",
		"020001000002030900f6", "01020001060020441600000003", "010100010003"} {
		data, err := hex.DecodeString(seed)
		if err != nil {
			f.Fatal(err)
		}
		for command := range 16 {
			f.Add(uint16(command), command%2 == 0, uint8(command%9), data)
		}
		f.Add(uint16(48), true, uint8(7), data)
		f.Add(uint16(78), true, uint8(7), data)
	}
	all := All()
	f.Fuzz(func(t *testing.T, command uint16, reply bool, rev uint8, data []byte) {
		if len(data) > frame.MaxCount {
			return
		}
		d, ok := Lookup(command)
		if !ok {
			d = all[int(command)%len(all)]
		}
		kind := frame.STX
		if reply {
			kind = frame.ACK
		}
		r := d.Decode(nil, kind, data, rev)
		if r.Basis == Given && r.Revision != rev {
			t.Errorf("read as revision %d, want %d", r.Revision, rev)
		}
		if len(d.layouts(kind)) > 0 {
			checkPartition(t, r.Values, data)
		}
		for i := range r.Values {
			checkPrintable(t, &r.Values[i])
		}
	})
}

// checkPartition: values cover the data in order; only bits of a byte share it;
// a byte of no value is the unit of one.
func checkPartition(t *testing.T, values []Value, data []byte) {
	covered := make([]bool, len(data))
	for i := range values {
		v := &values[i]
		if v.At < 0 || v.At+len(v.Raw) > len(data) || len(v.Raw) == 0 && v.Field.SizeField == "" || i > 0 && v.At < values[i-1].At {
			t.Fatalf("%s at %d of %d bytes", show(v), v.At, len(data))
		}
		if string(v.Raw) != string(data[v.At:v.At+len(v.Raw)]) {
			t.Errorf("%s: got % x, want % x", show(v), v.Raw, data[v.At:v.At+len(v.Raw)])
		}
		for at := v.At; at < v.At+len(v.Raw); at++ {
			if covered[at] && v.Field.Bits.Width == 0 {
				t.Errorf("%s: byte %d belongs to two values", show(v), at)
			}
			covered[at] = true
		}
	}
	for at, ok := range covered {
		if !ok && !servesSomebody(values, data[at]) {
			t.Errorf("byte %d (%02x) belongs to nobody", at, data[at])
		}
	}
}

func servesSomebody(values []Value, b byte) bool {
	for i := range values {
		if v := &values[i]; v.Field.UnitField != "" && v.HasUnit && byte(v.Unit) == b {
			return true
		}
	}
	return false
}

func checkPrintable(t *testing.T, v *Value) {
	x, isNumber := v.Number()
	digits, hasDigits := v.AppendNumber(nil)
	text, isText := v.AppendText(nil)
	if isNumber != hasDigits || isNumber && isText {
		t.Errorf("%s: number %v, digits %v, text %v", show(v), isNumber, hasDigits, isText)
	}
	if isNumber && (math.IsNaN(x) || math.IsInf(x, 0) || !json.Valid(digits)) {
		t.Errorf("%s: %v printed as %s", show(v), x, digits)
	}
	if isText && !utf8.Valid(text) {
		t.Errorf("%s: %q is not UTF-8", show(v), text)
	}
	if !isNumber && !isText && v.Meaning() == "" {
		t.Errorf("%s: nothing is said", show(v))
	}
	if v.Incomplete != (v.Meaning() == "incomplete") {
		t.Errorf("%s: incomplete is %v", show(v), v.Incomplete)
	}
}
