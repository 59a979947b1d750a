package wave

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
)

// chunkHead is the bytes in front of what a chunk holds: its name and its size.
const chunkHead = 8

// isRIFF reports whether a file begins as WAV files do: RF64 and BW64 are those that can
// have more than 4 GiB.
//
// Source: EBU Tech 3306; ITU-R BS.2088, from memory.
func isRIFF(begin []byte) bool {
	for _, name := range [...]string{"RIFF", "RF64", "BW64"} {
		if bytes.HasPrefix(begin, []byte(name)) {
			return true
		}
	}
	return false
}

func openWAV(in *bufio.Reader, name string, o Options) (*wav, error) {
	w := &wav{in: in, name: name}
	if o.Columns != "" {
		return nil, errors.New(name + " is a WAV file, which has no columns to choose")
	}
	if o.Rate != 0 {
		return nil, errors.New(name + " is a WAV file, which says its rate itself")
	}
	if err := w.head(); err != nil {
		return nil, err
	}
	if w.channel = max(0, o.Channel-1); w.channel >= w.channels {
		return nil, w.errorAt(w.begun, "there is no channel %d: want 1 to %d", o.Channel, w.channels)
	}
	return w, nil
}

// take takes the next bytes of the head; what says what they are.
func (w *wav) take(n int, what string) ([]byte, error) {
	b, err := w.in.Peek(n)
	if err == io.EOF {
		return nil, w.errorAt(w.at+int64(len(b)), "file ends inside %s: want a whole head and samples", what)
	}
	if err != nil {
		return nil, err
	}
	b = bytes.Clone(b)
	w.skip(int64(n))
	return b, nil
}

// head reads until the samples begin.
func (w *wav) head() error {
	b, err := w.take(12, "its first 12 bytes")
	switch {
	case err != nil:
		return err
	case string(b[:4]) == "RIFX":
		return w.errorAt(0, "its numbers begin with the high byte (RIFX): want RIFF")
	case string(b[8:]) != "WAVE":
		return w.errorAt(8, "a RIFF file of kind %q: want WAVE", b[8:])
	}
	if size := binary.LittleEndian.Uint32(b[4:]); size != notKnown && size != 0 {
		w.riff = int64(size) + chunkHead
	}
	large := int64(-1) // bytes of samples, in files that can have many
	for {
		at := w.at
		if b, err := w.in.Peek(1); len(b) == 0 && err == io.EOF {
			return w.errorAt(at, "file ends without samples: want a chunk \"data\"")
		}
		b, err := w.take(chunkHead, "the head of a chunk")
		if err != nil {
			return err
		}
		name, size := string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:]))
		switch {
		case name == "data":
			return w.data(at, size, large)
		case name == "fmt ":
			err = w.form(size)
		case name == "ds64":
			large, err = w.large(size)
		default:
			err = w.pass(at, name, size)
		}
		if err != nil {
			return err
		}
	}
}

// data begins the samples.
func (w *wav) data(at, size, large int64) error {
	if w.block == 0 {
		return w.errorAt(at, "samples before it is said how they stand: want a chunk \"fmt \" in front")
	}
	if size == notKnown {
		size = large
	}
	w.begun, w.size, w.left = w.at, size, size
	if size < 0 {
		w.left = math.MaxInt64
	}
	return nil
}

// pass passes over a chunk.
func (w *wav) pass(at int64, name string, size int64) error {
	end := w.at + size
	w.skip(size)
	if w.at < end {
		return w.errorAt(at, "chunk %q of %d bytes goes beyond the end of the file, and no samples came", name, size)
	}
	if size%2 != 0 {
		w.skip(1)
	}
	return nil
}

// large reads the sizes of a file that can have more than 4 GiB.
func (w *wav) large(size int64) (data int64, err error) {
	at := w.at
	if size < 16 {
		return 0, w.errorAt(at-4, "chunk \"ds64\" of %d bytes: want 28 or more", size)
	}
	b, err := w.take(16, "chunk \"ds64\"")
	if err != nil {
		return 0, err
	}
	number := func(b []byte) int64 { return int64(min(binary.LittleEndian.Uint64(b), math.MaxInt64/2)) }
	w.riff = number(b) + chunkHead
	if data = number(b[8:]); data == 0 {
		data = -1 // a recorder that was stopped
	}
	return data, w.pass(at-chunkHead, "ds64", size-16)
}

// Bytes of a chunk "fmt ".
const (
	formLeast      = 16
	formExtensible = 40
)

// guid is behind the first two bytes of the code of an extensible format.
var guid = []byte("\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71")

// form reads how the samples stand.
func (w *wav) form(size int64) error {
	at := w.at
	if size < formLeast {
		return w.errorAt(at-4, "chunk \"fmt \" of %d bytes: want 16 or more", size)
	}
	b, err := w.take(int(min(size, formExtensible)), "chunk \"fmt \"")
	if err != nil {
		return err
	}
	le := binary.LittleEndian
	code, codeAt := le.Uint16(b), at
	if code == codeExtensible {
		if len(b) < formExtensible {
			return w.errorAt(at-4, "chunk \"fmt \" of %d bytes: want 40 or more for an extensible format", size)
		}
		code, codeAt = le.Uint16(b[24:]), at+24
		if !bytes.Equal(b[26:], guid) {
			return w.errorAt(codeAt, "a format of somebody's own is not read: want PCM (1) or floating point (3)")
		}
	}
	w.channels, w.hertz = int(le.Uint16(b[2:])), int(le.Uint32(b[4:]))
	block, bits := int(le.Uint16(b[12:])), int(le.Uint16(b[14:]))
	switch {
	case code != codePCM && code != codeFloat:
		return w.errorAt(codeAt, "format %s is not read: want PCM (1) or floating point (3)", codecOf(code))
	case w.channels == 0:
		return w.errorAt(at+2, "0 channels: want 1 or more")
	case w.hertz < leastRate || w.hertz > mostRate:
		return w.errorAt(at+4, "%d samples a second: %s", w.hertz, wantRate)
	case code == codePCM && bits != 8 && bits != 16 && bits != 24 && bits != 32:
		return w.errorAt(at+14, "%d bits a sample: want 8, 16, 24 or 32", bits)
	case code == codeFloat && bits != 32 && bits != 64:
		return w.errorAt(at+14, "%d bits a sample of floating point: want 32 or 64", bits)
	case block != w.channels*bits/8:
		return w.errorAt(at+12, "%d bytes for a sample of each channel: want %d, which %d channels of %d bits have", block, w.channels*bits/8, w.channels, bits)
	}
	w.block, w.format = block, formatOf(code, bits)
	return w.pass(at-chunkHead, "fmt ", size-int64(len(b)))
}

func formatOf(code uint16, bits int) Format {
	if code == codeFloat {
		return map[int]Format{32: Float32, 64: Float64}[bits]
	}
	return map[int]Format{8: PCM8, 16: PCM16, 24: PCM24, 32: PCM32}[bits]
}
