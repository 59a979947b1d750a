package view

import (
	"errors"
	"io"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// A Progress shows on a terminal how far a file was read through it, until it is
// closed. What is written to it appears above that.
type Progress struct {
	io.ReadCloser
	w    io.Writer
	bar  *mpb.Bar
	bars *mpb.Progress
}

// NewProgress shows on w, which is a terminal, how far a file of size bytes is read.
func NewProgress(w io.Writer, name string, size int64, file io.ReadCloser) *Progress {
	p := mpb.New(mpb.WithOutput(w), mpb.WithWidth(40))
	bar := p.AddBar(size, mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(name+" ")),
		mpb.AppendDecorators(decor.Percentage(), decor.Name("  "), decor.AverageETA(decor.ET_STYLE_GO)))
	watched, err := bar.ProxyReader(file)
	if err != nil { // the bar is at its end, which a new one is not
		watched = file
	}
	return &Progress{watched, w, bar, p}
}

// Write writes whole lines above the bar, or where there was one.
func (p *Progress) Write(b []byte) (int, error) {
	n, err := p.bars.Write(b)
	if errors.As(err, new(mpb.ErrDone[*mpb.Progress])) {
		return p.w.Write(b)
	}
	return n, err
}

// Close closes the file and takes the bar away.
func (p *Progress) Close() error {
	err := p.ReadCloser.Close()
	p.bar.Abort(true)
	p.bars.Wait()
	return err
}
