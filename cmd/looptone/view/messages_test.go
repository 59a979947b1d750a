package view_test

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/vector"
)

// A conversation takes frames to messages, each behind two FF.
type conversation struct {
	t       testing.TB
	decoder frame.Decoder
	tracker exchange.Tracker
}

func (c *conversation) say(f frame.Frame, at *exchange.Span) *exchange.Message {
	c.t.Helper()
	wire, err := f.AppendBinary([]byte{0xff, 0xff})
	if err != nil {
		c.t.Fatal(err)
	}
	c.decoder.Feed(wire, nil)
	ev := new(frame.Event)
	if !c.decoder.Next(ev) || ev.Outcome != frame.Whole {
		c.t.Fatalf("% x is no frame", wire)
	}
	if at == nil {
		at = new(exchange.Span)
	}
	c.tracker.Follow(0, ev, *at)
	return last(&c.tracker)
}

// last is the last message that comes of an event: that of the event itself.
func last(t *exchange.Tracker) *exchange.Message {
	m, found := new(exchange.Message), new(exchange.Message)
	for t.Next(m) {
		*found = *m
	}
	return found
}

// request and reply are frames of the primary master, data in hex.
func request(a frame.Address, command uint16, data string) frame.Frame {
	f := frame.Frame{Kind: frame.STX, Address: a, Primary: true}
	f.SetNumber(command, unhex(data))
	return f
}

func reply(a frame.Address, command uint16, data string) frame.Frame {
	f := request(a, command, data)
	f.Kind = frame.ACK
	return f
}

func answered(f frame.Frame, response frame.Response, status frame.DeviceStatus) frame.Frame {
	f.Status = frame.Status{Response: response, Device: status}
	return f
}

func unhex(text string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	if err != nil {
		panic(err)
	}
	return b
}

// Replies to command 0, revision 5 and 7, of device ID 7 and 8.
//
// Source of the layouts: Allen-Bradley 1794-UM063A, appendix C (5); Biffi ICON3000
// HART manual MDE 254, p.20 (7). The devices are constructed.
const (
	identity5 = "fe f9 01 05 05 01 01 08 00 00 00 07"
	identity7 = "fe f9 02 05 07 01 01 08 00 00 00 08 05 04 00 00 00 00 f9 00 f9 01"
)

var (
	three   = frame.Polling(3)
	device5 = frame.Unique(0x3901, 7)
)

func readVectors(t testing.TB) []*vector.Vector {
	t.Helper()
	vectors, err := vector.Read(os.DirFS("../../../testdata/vectors"))
	if err != nil {
		t.Fatal(err)
	}
	if len(vectors) < 100 {
		t.Fatalf("only %d vectors found", len(vectors))
	}
	return vectors
}

// eachMessage runs the events of a vector through a tracker of their own.
func eachMessage(v *vector.Vector, bare bool, use func(*exchange.Message)) {
	d := frame.Decoder{Bare: bare}
	d.Feed(v.Chars, v.Marks)
	d.End()
	var tracker exchange.Tracker
	var ev frame.Event
	for d.Next(&ev) {
		tracker.Follow(0, &ev, exchange.Span{})
		use(last(&tracker))
	}
}

// ofVector is the JSON line of a vector's only event.
func ofVector(t testing.TB, name string) (line string) {
	t.Helper()
	for _, v := range readVectors(t) {
		if v.Name == name {
			eachMessage(v, false, func(m *exchange.Message) { line += string(new(view.JSON).Append(nil, m, nil)) })
		}
	}
	if line == "" {
		t.Fatalf("no vector %s", name)
	}
	return line
}

// readJSON reads a line with its numbers as they are written. Neither blanks
// outside strings nor a second line nor a key that comes twice is allowed.
func readJSON(line []byte) (object map[string]any, err error) {
	d := json.NewDecoder(bytes.NewReader(line))
	d.UseNumber()
	if err := d.Decode(&object); err != nil {
		return nil, err
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, fmt.Errorf("something follows the object: %s", line)
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, line); err != nil {
		return nil, err
	}
	if !bytes.Equal(compact.Bytes(), line) {
		return nil, fmt.Errorf("blanks outside strings: %s", line)
	}
	return object, keyTwice(json.NewDecoder(bytes.NewReader(line)))
}

// keyTwice reads one value and reports an object with a key that comes twice.
func keyTwice(d *json.Decoder) error {
	token, err := d.Token()
	if err != nil || (token != json.Delim('{') && token != json.Delim('[')) {
		return err
	}
	seen := map[json.Token]bool{}
	for d.More() {
		if token == json.Delim('{') {
			key, err := d.Token()
			if err != nil {
				return err
			}
			if seen[key] {
				return fmt.Errorf("key %q comes twice", key)
			}
			seen[key] = true
		}
		if err := keyTwice(d); err != nil {
			return err
		}
	}
	_, err = d.Token()
	return err
}
