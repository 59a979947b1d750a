package wave

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"time"
)

// A Writer writes a WAV file of one channel.
type Writer struct {
	to      io.Writer
	rate    int
	format  Format
	head    head
	buffer  []byte
	samples int64
	most    int64 // samples that a file can hold: its size but for eight bytes is a number of 32 bits
	clipped int64
	err     error
}

// Codes of what is in the samples.
//
// Source: Microsoft, mmreg.h (WAVE_FORMAT_…), from memory.
const (
	codePCM        = 1
	codeFloat      = 3
	codeExtensible = 0xfffe // another code says it, further on
)

// notKnown stands for a size where it could not be put in later.
const notKnown = math.MaxUint32

// bufferSize is that of the bytes between a file and its samples.
const bufferSize = 64 << 10

// NewWriter begins a WAV file. The sizes in its head are put in by Close, where w can
// seek and be written at an offset; else they say that the length is not known: in a pipe,
// for instance, or a file that is opened for appending.
func NewWriter(w io.Writer, rate int, f Format) (*Writer, error) {
	switch {
	case f < PCM8 || f > Float32:
		return nil, fmt.Errorf("a WAV file is not written in format %d", f)
	case rate < 1 || int64(rate)*int64(f.size()) > math.MaxUint32:
		return nil, fmt.Errorf("a WAV file of %v cannot have %d samples a second: want 1 to %d", f, rate, math.MaxUint32/f.size())
	}
	out := &Writer{to: w, rate: rate, format: f, head: headOf(w, f), buffer: make([]byte, 0, bufferSize)}
	out.most = (notKnown - 1 - int64(out.head.size)) / int64(f.size())
	out.buffer = out.head.append(out.buffer, rate, f)
	return out, nil
}

// head is where in a file are the sizes.
type head struct {
	to    io.WriterAt // nil where nothing can be put in
	start int64       // of the file in it
	fact  int         // offset of the number of samples; 0 where there is none
	size  int
}

func headOf(w io.Writer, f Format) head {
	h := head{size: 44}
	if f == Float32 { // all but PCM have two bytes more, and a chunk that counts the samples
		h.size, h.fact = 58, 46
	}
	to, ok := w.(interface {
		io.Seeker
		io.WriterAt
	})
	if !ok {
		return h
	}
	start, err := to.Seek(0, io.SeekCurrent)
	if err != nil {
		return h
	}
	if _, err := to.WriteAt(nil, start); err == nil { // a file for appending refuses
		h.to, h.start = to, start
	}
	return h
}

// append appends the head of a file whose length is not known.
func (h *head) append(to []byte, rate int, f Format) []byte {
	le := binary.LittleEndian
	code, more := uint16(codePCM), h.fact > 0
	size := uint32(16)
	if more {
		code, size = codeFloat, 18
	}
	to = le.AppendUint32(append(to, "RIFF"...), notKnown)
	to = le.AppendUint32(append(to, "WAVEfmt "...), size)
	to = le.AppendUint16(to, code)
	to = le.AppendUint16(to, 1) // channel
	to = le.AppendUint32(to, uint32(rate))
	to = le.AppendUint32(to, uint32(rate*f.size()))
	to = le.AppendUint16(to, uint16(f.size()))
	to = le.AppendUint16(to, uint16(8*f.size()))
	if more {
		to = le.AppendUint16(to, 0)
		to = le.AppendUint32(append(to, "fact"...), 4)
		to = le.AppendUint32(to, notKnown)
	}
	return le.AppendUint32(append(to, "data"...), notKnown)
}

// Write writes samples, ±1 being full scale; what is beyond is clipped, and counted,
// but in floating point kept. A file of more than 4 GiB, and a sample that is no number,
// are errors, and so is everything behind one.
func (w *Writer) Write(samples []float32) error {
	for _, sample := range samples {
		if w.err == nil {
			w.add(sample)
		}
	}
	return w.err
}

func (w *Writer) add(sample float32) {
	switch {
	case !isFinite(sample):
		w.err = fmt.Errorf("sample %d is %v: want a number", w.samples, sample)
		return
	case w.samples == w.most:
		long := time.Duration(float64(w.most) / float64(w.rate) * 1e9).Truncate(time.Second)
		w.err = fmt.Errorf("a WAV file holds 4 GiB at most, which is %v at %d samples a second of %v", long, w.rate, w.format)
		return
	case len(w.buffer)+w.format.size() > bufferSize:
		w.flush()
	}
	var clipped bool
	if w.buffer, clipped = w.format.append(w.buffer, sample); clipped {
		w.clipped++
	}
	w.samples++
}

func (w *Writer) flush() {
	if w.err == nil {
		_, w.err = w.to.Write(w.buffer)
	}
	w.buffer = w.buffer[:0]
}

// Clipped is how many samples were beyond full scale.
func (w *Writer) Clipped() int64 { return w.clipped }

// Close ends the file, but does not close what it was written to. Behind an error, what
// was written before it is a file all the same; Close returns that error.
func (w *Writer) Close() error {
	cause := w.err
	w.err = nil
	data := w.samples * int64(w.format.size())
	if data%2 != 0 {
		w.buffer = append(w.buffer, 0) // chunks begin at even places
	}
	w.flush()
	if w.head.to != nil {
		w.put(4, int64(w.head.size)-8+data+data%2)
		if w.head.fact > 0 {
			w.put(w.head.fact, w.samples)
		}
		w.put(w.head.size-4, data)
	}
	if cause != nil {
		return cause
	}
	return w.err
}

// put puts a size in.
func (w *Writer) put(at int, size int64) {
	if w.err == nil {
		_, w.err = w.head.to.WriteAt(binary.LittleEndian.AppendUint32(nil, uint32(size)), w.head.start+int64(at))
	}
}
