package main

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"looptone/frame"
	"looptone/frame/vector"
)

// line is the part of a JSON line of decode that vectors say something about.
type line struct {
	Event     string
	Start     int64
	Preambles int
	Frame     string
	Bytes     string
	Kind      string
	Master    string
	Command   *uint16
	Address   struct {
		Polling *uint8
		Unique  string
	}
	Error struct{ Field string }
}

// TestDecodeVectors lets decode read the characters of every vector that has no
// marks, as raw bytes: every character is in exactly one line, and a frame's line
// says what the vector says.
func TestDecodeVectors(t *testing.T) {
	vectors, err := vector.Read(os.DirFS("../../testdata/vectors"))
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, v := range vectors {
		if len(v.Marks) > 0 || len(v.Chars) == 0 {
			continue
		}
		tried++
		t.Run(v.Name, func(t *testing.T) { decodeVector(t, v) })
	}
	if tried < 50 {
		t.Errorf("only %d vectors without marks", tried)
	}
}

func decodeVector(t *testing.T, v *vector.Vector) {
	var out bytes.Buffer
	code := run([]string{"decode", "--as", "raw", "--json"}, bytes.NewReader(v.Chars), &out, io.Discard)
	var stream []byte
	frames := 0
	for text := range strings.Lines(out.String()) {
		var l line
		if err := json.Unmarshal([]byte(text), &l); err != nil {
			t.Fatalf("%v: %s", err, text)
		}
		stream = frame.AppendPreambles(stream, l.Preambles)
		if l.Start != int64(len(stream)) {
			t.Errorf("start %d, want %d: %s", l.Start, len(stream), text)
		}
		b, err := hex.DecodeString(l.Frame + l.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		stream = append(stream, b...)
		if l.Event == "frame" {
			frames++
			compareFields(t, v, &l)
		}
	}
	if !bytes.Equal(stream, v.Chars) {
		t.Errorf("lines hold % x, want all characters % x", stream, v.Chars)
	}
	if want := min(1, max(0, 1-frames)); code != want {
		t.Errorf("exit code %d for %d frames, want %d", code, frames, want)
	}
}

// compareFields compares what the vector says of its one good frame.
func compareFields(t *testing.T, v *vector.Vector, l *line) {
	t.Helper()
	if expect, _ := v.Value("expect"); expect != "frame" {
		return
	}
	if _, several := v.Value("events"); several {
		return
	}
	for key, got := range map[string]string{"kind": l.Kind, "master": l.Master} {
		if want, ok := v.Value(key); ok && got != want {
			t.Errorf("%s %q, want %q", key, got, want)
		}
	}
	address, _ := v.Value("address")
	if want, ok := strings.CutPrefix(address, "unique "); ok && l.Address.Unique != want {
		t.Errorf("unique address %q, want %q", l.Address.Unique, want)
	}
	if want, ok := strings.CutPrefix(address, "polling "); ok && (l.Address.Polling == nil || fmt.Sprint(*l.Address.Polling) != want) {
		t.Errorf("polling address %v, want %s", l.Address.Polling, want)
	}
}
