package view

import (
	"io"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// Progress shows on w, which is a terminal, how far a file of size bytes was read,
// until the reader that it returns is closed.
func Progress(w io.Writer, name string, size int64, file io.ReadCloser) io.ReadCloser {
	p := mpb.New(mpb.WithOutput(w), mpb.WithWidth(40))
	bar := p.AddBar(size, mpb.BarRemoveOnComplete(),
		mpb.PrependDecorators(decor.Name(name+" ")),
		mpb.AppendDecorators(decor.Percentage(), decor.Name("  "), decor.AverageETA(decor.ET_STYLE_GO)))
	watched, err := bar.ProxyReader(file)
	if err != nil { // the bar is at its end, which a new one is not
		watched = file
	}
	return &progress{watched, bar, p}
}

type progress struct {
	io.ReadCloser
	bar  *mpb.Bar
	bars *mpb.Progress
}

func (p *progress) Close() error {
	err := p.ReadCloser.Close()
	p.bar.Abort(true)
	p.bars.Wait()
	return err
}
