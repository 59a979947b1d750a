package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"looptone/frame"
)

// saturated is about n bytes of a line without pause: 15 devices that are asked
// for their identity once and then for commands 1, 2 and 3 in turn.
func saturated(tb testing.TB, n int) (stream []byte) {
	data := map[uint8][]byte{
		1: {12, 0x41, 0xc7, 0x47, 0xae},
		2: {0x41, 0x40, 0, 0, 0x42, 0x48, 0, 0},
		3: {0x41, 0x40, 0, 0, 12, 0x41, 0xc7, 0x47, 0xae, 32, 0x41, 0xb0, 0, 0},
	}
	say := func(f frame.Frame) {
		stream = frame.AppendPreambles(stream, 5)
		var err error
		if stream, err = f.AppendBinary(stream); err != nil {
			tb.Fatal(err)
		}
	}
	for device := range uint32(15) {
		a := frame.Polling(uint8(device))
		say(frame.Frame{Kind: frame.STX, Primary: true, Address: a})
		say(frame.Frame{Kind: frame.ACK, Primary: true, Address: a,
			Data: []byte{254, 249, 1, 5, 5, 1, 1, 8, 0, 0, 0, byte(device)}})
	}
	for i := 0; len(stream) < n; i++ {
		a := frame.Unique(0x3901, uint32(i)%15)
		command := uint8(i%3) + 1
		say(frame.Frame{Kind: frame.STX, Primary: true, Address: a, Command: command})
		say(frame.Frame{Kind: frame.ACK, Primary: true, Address: a, Command: command, Data: data[command]})
	}
	return stream
}

// recorded is a stream of frames as a capture file: a line a message, with a pause
// behind each.
func recordedStream(tb testing.TB, stream []byte) []byte {
	var d frame.Decoder
	var ev frame.Event
	d.Feed(stream, nil)
	d.End()
	file := sealed(0xffff, "looptone capture 1", `! stream 0 "saturated" times=start`)
	seed := sealOf(file)
	for at := time.Duration(0); d.Next(&ev); {
		if ev.Outcome != frame.Whole {
			tb.Fatalf("%v in the stream", ev.Outcome)
		}
		chars := append(frame.AppendPreambles(nil, ev.Preambles), ev.Raw...)
		line := sealed(seed, fmt.Sprintf("%.6f 0 % x", at.Seconds(), chars))
		seed = sealOf(line)
		file = append(file, line...)
		at += time.Duration(len(chars))*11*time.Second/1200 + 60*time.Millisecond
	}
	return append(file, sealed(seed, "! end")...)
}

// BenchmarkCapture is the command from a capture file to its output, without the
// disk; its rate is that of the file.
func BenchmarkCapture(b *testing.B) {
	text := recordedStream(b, saturated(b, 2<<20))
	file := filepath.Join(b.TempDir(), "saturated.txt")
	if err := os.WriteFile(file, text, 0o600); err != nil {
		b.Fatal(err)
	}
	for _, view := range []struct {
		name string
		o    decodeOptions
	}{
		{"summary", decodeOptions{summary: true}},
		{"json", decodeOptions{json: true}},
	} {
		b.Run(view.name, func(b *testing.B) { benchmarkDecode(b, view.o, file, "", len(text)) })
	}
}

// BenchmarkDecode is the command from a file of raw characters to its output,
// without the disk.
func BenchmarkDecode(b *testing.B) {
	stream := saturated(b, 4<<20)
	file := filepath.Join(b.TempDir(), "saturated.bin")
	if err := os.WriteFile(file, stream, 0o600); err != nil {
		b.Fatal(err)
	}
	for _, view := range []struct {
		name string
		o    decodeOptions
	}{
		{"sentences", decodeOptions{}},
		{"json", decodeOptions{json: true}},
		{"summary", decodeOptions{summary: true}},
		{"csv", decodeOptions{csv: true}},
	} {
		b.Run(view.name, func(b *testing.B) { benchmarkDecode(b, view.o, file, "raw", len(stream)) })
	}
}

// BenchmarkStrangers is JSON of devices that never introduce themselves, so that the
// revision of each reply is assumed: of commands 1, 2 and 3, and of 3 alone.
func BenchmarkStrangers(b *testing.B) {
	all := saturated(b, 4<<20)
	introductions := len(saturated(b, 0))
	var third []byte
	var d frame.Decoder
	var ev frame.Event
	d.Feed(all[introductions:], nil)
	for d.End(); d.Next(&ev); {
		if ev.Frame.Command == 3 {
			third = append(frame.AppendPreambles(third, ev.Preambles), ev.Raw...)
		}
	}
	for _, stream := range []struct {
		name  string
		chars []byte
	}{{"all", all[introductions:]}, {"command 3", third}} {
		file := filepath.Join(b.TempDir(), "strangers.bin")
		if err := os.WriteFile(file, stream.chars, 0o600); err != nil {
			b.Fatal(err)
		}
		b.Run(stream.name, func(b *testing.B) { benchmarkDecode(b, decodeOptions{json: true}, file, "raw", len(stream.chars)) })
	}
}

func benchmarkDecode(b *testing.B, o decodeOptions, file, as string, size int) {
	o.files, o.options.As, o.filterFlags = []string{file}, as, filterFlags{command: -1}
	b.SetBytes(int64(size))
	b.ReportAllocs()
	for b.Loop() {
		if err := o.run(context.Background(), nil, io.Discard, io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
