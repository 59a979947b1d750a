package main

import (
	"fmt"
	"io"
	"strings"

	"looptone/serialio/capture"
	"looptone/serialio/fsk"
	"looptone/serialio/wave"
)

// asWave is the word that forces a waveform.
const asWave = "wave"

// waveforms are the format of a capture that holds tones. o is looked at when a file is
// opened.
func waveforms(o *wave.Options) capture.Format {
	return capture.Format{
		Word: asWave,
		Is: func(head []byte, all bool) bool {
			return wave.IsWAV(head) || all && wave.IsCSV(head)
		},
		Open: func(r io.Reader, name string) (capture.Reader, string, error) {
			samples, err := wave.Open(r, name, *o)
			if err != nil {
				return nil, "", err
			}
			return &waveform{fsk.NewReader(samples, name), samples}, samples.What(), nil
		},
	}
}

// waveform is a reader of tones that also tells what was amiss with the file.
type waveform struct {
	*fsk.Reader
	samples *wave.Reader
}

// Told is what is to be said at the end.
func (w *waveform) Told() string {
	return strings.Trim(w.samples.Told()+"\n"+w.Reader.Told(), "\n")
}

// forceWaveform takes the input for a waveform where something is said that only one has.
func (c *captureFlags) forceWaveform() error {
	o := &c.waveform
	said := ""
	switch {
	case o.Rate != 0:
		said = "--rate"
	case o.Channel != 0:
		said = "--channel"
	case strings.Contains(","+strings.ReplaceAll(c.options.Columns, " ", ""), ",volts="):
		said = "--columns volts="
	}
	switch {
	case said != "" && c.options.As != "" && c.options.As != asWave:
		return fmt.Errorf("%s is for a waveform, not for %s", said, c.options.As)
	case said != "" && c.options.Pattern != "":
		return fmt.Errorf("%s is for a waveform, and --pattern for a log", said)
	case said != "":
		c.options.As = asWave
	}
	if c.options.As != asWave {
		return nil
	}
	o.Columns = c.options.Columns
	return o.Check()
}
