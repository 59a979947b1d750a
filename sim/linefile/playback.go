package linefile

import (
	"errors"
	"fmt"
	"io/fs"

	"looptone/frame/userfile"
	"looptone/sim/process"
)

// playback reads a course that was recorded, or written in a spreadsheet.
func playback(t *userfile.Table, _ kind, on *ground) process.Model {
	t.Need("file", `"flow.csv"`)
	repeat := t.Truth("repeat", false)
	name, ok := t.Text("file")
	if !ok {
		return process.Playback{}
	}
	p, err := on.playback(name)
	if err != nil {
		t.Refuse("file", err)
		return process.Playback{}
	}
	p.Repeat = repeat
	return *p
}

// playback reads the file with that name.
func (on *ground) playback(name string) (*process.Playback, error) {
	if on.read == nil {
		return nil, fmt.Errorf("file %q: this description reads no files", name)
	}
	text, err := on.read(name)
	if err != nil {
		return nil, fmt.Errorf("file %q: %w; want a CSV file of times and values, named as from the folder of this one", name, bare(err))
	}
	return process.ParsePlayback(name, text)
}

// bare is what went wrong with a file, without the file, which is named already.
func bare(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}
