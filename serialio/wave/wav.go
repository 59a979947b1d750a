package wave

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// wav reads the samples of one channel.
type wav struct {
	in   *bufio.Reader
	name string
	at   int64 // offset of what is unread
	layout
	channel int // from 0

	riff int64 // where the head says that the file ends; 0 where it does not say
	size int64 // bytes of samples, as the head says; −1 where it does not say
	left int64 // of them that were not read yet

	goesOn bool  // more samples stood there than the head says
	rest   int64 // bytes at the end that make no sample
	begun  int64 // offset of the first sample
	last   int64 // of the samples that were read last
	ended  bool
}

// layout is how the samples of a file stand.
type layout struct {
	format   Format
	channels int
	hertz    int
	block    int // bytes from one sample of a channel to the next
}

func (w *wav) rate() float64 { return float64(w.hertz) }

func (w *wav) what() string {
	channel := ""
	if w.channels > 1 {
		channel = fmt.Sprintf("channel %d of %d, ", w.channel+1, w.channels)
	}
	return fmt.Sprintf("WAV, %s%d samples a second, %v", channel, w.hertz, w.format)
}

func (w *wav) place(i int) SyntaxError {
	return SyntaxError{File: w.name, Byte: w.last + int64(i*w.block+w.channel*w.format.size())}
}

func (w *wav) read(dst []float32) (n int, err error) {
	for !w.ended && w.left < int64(w.block) {
		if err := w.behind(); err != nil {
			return 0, err
		}
	}
	if w.ended {
		return 0, io.EOF
	}
	if b, err := w.in.Peek(w.block); err != nil {
		if err == io.EOF {
			w.ended, w.rest = true, int64(len(b))
		}
		return 0, err
	}
	n = int(min(int64(len(dst)), int64(w.in.Buffered()/w.block), w.left/int64(w.block)))
	b, _ := w.in.Peek(n * w.block)
	w.format.read(dst[:n], b[w.channel*w.format.size():], w.block)
	w.last = w.at
	w.left -= int64(n * w.block)
	w.skip(int64(n * w.block))
	return n, nil
}

// behind finds out what follows the samples of which the head speaks: chunks or nothing
// at the end of the file; else more samples, from a recorder that was stopped before it
// put the size in, or of more than 4 GiB.
func (w *wav) behind() error {
	odd := int(w.size & 1)
	b, err := w.in.Peek(int(w.left) + odd + chunkHead)
	if err != nil && err != io.EOF {
		return err
	}
	rest := b[min(len(b), int(w.left)):]
	switch {
	case len(rest) < chunkHead || w.isChunk(rest, 0) || w.isChunk(rest, odd):
		w.ended, w.rest = true, int64(len(b)-len(rest))
	default:
		w.goesOn, w.left = true, math.MaxInt64
	}
	return nil
}

// isChunk reports whether what stands so many bytes behind the samples is a chunk: it
// has a name, and a size that there is room for.
func (w *wav) isChunk(b []byte, skip int) bool {
	if len(b) < skip+chunkHead {
		return false
	}
	b = b[skip:]
	for _, c := range b[:4] {
		if c < ' ' || c > '~' {
			return false
		}
	}
	at, size := w.at+w.left+int64(skip), int64(binary.LittleEndian.Uint32(b[4:]))
	const most = 16 << 20 // of what others hang on behind the end
	return at+chunkHead+size <= w.riff+1 || at >= w.riff && size <= most
}

func (w *wav) told() string {
	if !w.ended {
		return ""
	}
	var lines []string
	there := (w.at - w.begun) / int64(w.block)
	switch said := w.size / int64(w.block); {
	case w.size < 0:
		lines = append(lines, fmt.Sprintf("its head does not say how many samples there are: %d were", there))
	case w.goesOn || there < said:
		lines = append(lines, fmt.Sprintf("its head says that there are %d samples: %d were", said, there))
	}
	if w.rest > 0 {
		lines = append(lines, fmt.Sprintf("it ends inside a sample, of which there are %d of %d bytes", w.rest, w.block))
	}
	return strings.Join(lines, "\n")
}

func (w *wav) skip(n int64) {
	for n > 0 {
		some, err := w.in.Discard(int(min(n, math.MaxInt32)))
		w.at += int64(some)
		n -= int64(some)
		if err != nil {
			return
		}
	}
}

func (w *wav) errorAt(at int64, format string, args ...any) error {
	return &SyntaxError{File: w.name, Byte: at, Err: fmt.Errorf(format, args...)}
}

// codecs are names for what is not read, and may yet be met.
//
// Source: Microsoft, mmreg.h (WAVE_FORMAT_…), from memory.
var codecs = map[uint16]string{
	0x02: "ADPCM", 0x06: "A-law", 0x07: "µ-law", 0x11: "ADPCM", 0x31: "GSM", 0x50: "MPEG", 0x55: "MPEG layer 3",
}

// codecOf is a format number for a sentence.
func codecOf(code uint16) string {
	if name := codecs[code]; name != "" {
		return fmt.Sprintf("%d (%s)", code, name)
	}
	return strconv.Itoa(int(code))
}
