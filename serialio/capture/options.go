package capture

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Options say what of a capture need not be found out. The zero Options find out
// everything.
type Options struct {
	As       string // one of [Formats]; "" finds out
	Columns  string // which columns of a CSV or signals of a VCD mean what: "time=1,hex=Data"
	Pattern  string // regular expression of what is to be read in a log
	Inverted bool   // levels: the line rests at 0
	MaxSize  int64  // bytes, behind decompression, of which no more are read; 0 for [MostRead]
}

// readable are what a capture can be in, by the word that forces it.
var readable = []string{"raw", "hex", "capture", "csv", "vcd", "log", "pcap", "json"}

// Formats are the words for the formats that can be read.
func Formats() []string { return slices.Clone(readable) }

// FormatList is the formats as a sentence has them: "raw, hex or capture".
func FormatList() string {
	last := len(readable) - 1
	return strings.Join(readable[:last], ", ") + " or " + readable[last]
}

// Open begins to read a capture as OpenWith does; as is the format, or "".
func Open(r io.Reader, name, as string) (rd Reader, what string, err error) {
	return OpenWith(r, name, Options{As: as})
}

// Check refuses options that make no sense, or none together.
func (o *Options) Check() error {
	_, columns := parseColumns(o.Columns)
	switch {
	case o.As != "" && !slices.Contains(readable, o.As):
		return fmt.Errorf("unknown format %q: want %s", o.As, FormatList())
	case o.Pattern != "" && o.As != "" && o.As != "log":
		return fmt.Errorf("--pattern is for a log, not for %s", o.As)
	case o.Pattern != "" && (o.Columns != "" || o.Inverted):
		return errors.New("--pattern is for a log, which has neither columns nor levels")
	case o.Columns != "" && o.As != "" && o.As != "csv" && o.As != "vcd":
		return fmt.Errorf("--columns is for CSV and VCD, not for %s", o.As)
	case o.Inverted && o.As != "" && o.As != "csv" && o.As != "vcd":
		return fmt.Errorf("--invert-levels is for CSV and VCD, not for %s", o.As)
	case columns != nil:
		return columns
	case o.Pattern != "" || o.As == "log":
		_, _, err := parsePattern(o.Pattern)
		return err
	}
	return nil
}

// most is how much is read.
func (o *Options) most() int64 {
	if o.MaxSize > 0 {
		return o.MaxSize
	}
	return MostRead
}
