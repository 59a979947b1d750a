package payload_test

import (
	"encoding/hex"
	"reflect"
	"testing"

	"looptone/frame"
	"looptone/frame/payload"
)

// What a device tells of its range is what writes the same range again: the data of a
// reply to command 15, constructed, give those of a request of command 35.
func TestWords(t *testing.T) {
	told, _ := hex.DecodeString("0000" + "07" + "41200000" + "3f800000" + "3f000000" + "00" + "fa" + "00")
	def, _ := payload.Lookup(15)
	values := def.Decode(nil, frame.ACK, told, 7).Values
	var words []string
	for _, name := range []string{"unit", "upper range value", "lower range value"} {
		words = append(words, payload.Words(values, name)...)
	}
	if want := []string{"unit=bar", "upper_range_value=10", "lower_range_value=1"}; !reflect.DeepEqual(words, want) {
		t.Fatalf("got %q, want %q", words, want)
	}
	write, _ := payload.Lookup(35)
	data, err := write.AppendWords(nil, frame.STX, 7, words)
	if got := hex.EncodeToString(data); err != nil || got != "07"+"41200000"+"3f800000" {
		t.Errorf("got %s, %v", got, err)
	}
	if got := payload.Words(values, "no such field"); got != nil {
		t.Errorf("got %q, want none", got)
	}
}
