package main

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

// Whatever the view, what a pipe has brought is shown before the pipe is waited for
// longer. Published frames.
//
// Source: Buerkert, Type 8605 description of communication, p.16.
func TestPipeThatWaits(t *testing.T) {
	for name, view := range map[string]struct {
		o    decodeOptions
		want string
	}{
		"sentences": {decodeOptions{}, "primary variable"},
		"json":      {decodeOptions{json: true}, `"value":25,"unit":"%"`},
		"csv":       {decodeOptions{csv: true}, "primary variable,25,%"},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				o := view.o
				o.options.As, o.filterFlags = "raw", filterFlags{command: -1}
				stdin, pipe := io.Pipe()
				var out bytes.Buffer
				ended := make(chan error)
				go func() { ended <- o.run(context.Background(), stdin, &out, io.Discard) }()
				pipe.Write([]byte("\xff\xff\x02\x80\x01\x00\x83\xff\xff\x06\x80\x01\x07\x00\x00\x39\x41\xc8\x00\x00\x30"))
				time.Sleep(2 * shortWait)
				synctest.Wait()
				if !strings.Contains(out.String(), view.want) {
					t.Errorf("while the pipe waits: got %q, want %q in it", out.String(), view.want)
				}
				pipe.Close()
				if err := <-ended; err != nil {
					t.Error(err)
				}
			})
		})
	}
}
