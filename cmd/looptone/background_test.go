package main

import (
	"bytes"
	"errors"
	"fmt"
	"testing"
)

// Everything comes out, in order, whatever becomes of the bytes that were given.
func TestBackgroundKeepsTheOrder(t *testing.T) {
	var out, want bytes.Buffer
	b := newBackground(&out)
	var line []byte
	for i := range 1000 {
		line = fmt.Appendf(line[:0], "line %d %0*d\n", i, 3*i, i)
		want.Write(line)
		if n, err := b.Write(line); n != len(line) || err != nil {
			t.Fatalf("got %d, %v", n, err)
		}
		clear(line)
	}
	line = bytes.Repeat([]byte("long "), bufferLen)
	want.Write(line)
	b.take(append(b.room(), line...))
	want.WriteString("end")
	b.WriteString("end")
	if err := b.Close(); err != nil || !bytes.Equal(out.Bytes(), want.Bytes()) {
		t.Errorf("%v; got %d bytes, want %d", err, out.Len(), want.Len())
	}
}

// A broken writer takes n writes.
type broken struct{ n int }

var errBroken = errors.New("broken pipe")

func (w *broken) Write(p []byte) (int, error) {
	if w.n--; w.n < 0 {
		return 0, errBroken
	}
	return len(p), nil
}

// A write that fails is told sooner or later, and at the end in any case.
func TestBackgroundTellsAnError(t *testing.T) {
	for n := range 5 {
		b := newBackground(&broken{n})
		var err error
		for i := 0; i < 1000 && err == nil; i++ {
			b.WriteString("line\n")
			err = b.Flush()
		}
		if closed := b.Close(); err != errBroken || closed != errBroken {
			t.Errorf("after %d writes: got %v and %v, want the error of the writer", n, err, closed)
		}
	}
}
