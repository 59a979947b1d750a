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
	As       string   // one of [Formats]; "" finds out
	Columns  string   // which columns of a CSV or signals of a VCD mean what: "time=1,hex=Data"
	Pattern  string   // regular expression of what is to be read in a log
	Inverted bool     // levels: the line rests at 0
	MaxSize  int64    // bytes, behind decompression, of which no more are read; 0 for [MostRead]
	Also     []Format // that this package does not read itself
}

// readable are what a capture can be in, by the word that forces it.
var readable = []string{"raw", "hex", "capture", "csv", "vcd", "log", "pcap", "json"}

// A Format is one that somebody else reads. Options are for its Open to know; of
// those here it takes none.
type Format struct {
	Word string // that forces it

	// Is reports whether an input is in the format by how it begins: at first by the
	// first bytes alone, then, if nothing plainer was found, by all that is looked at.
	Is func(head []byte, all bool) bool

	// Open is as OpenWith, of what is no longer compressed.
	Open func(r io.Reader, name string) (rd Reader, what string, err error)
}

// Formats are the words for the formats that can be read.
func Formats(also ...Format) []string {
	words := slices.Clone(readable)
	for i := range also {
		words = append(words, also[i].Word)
	}
	return words
}

// FormatList is the formats as a sentence has them: "raw, hex or capture".
func FormatList(also ...Format) string {
	words := Formats(also...)
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// other is the format among Also that passes; nil for none.
func (o *Options) other(passes func(*Format) bool) *Format {
	if i := slices.IndexFunc(o.Also, func(f Format) bool { return passes(&f) }); i >= 0 {
		return &o.Also[i]
	}
	return nil
}

// forced is the format among Also that is wanted by its word; nil for none.
func (o *Options) forced() *Format {
	return o.other(func(f *Format) bool { return f.Word == o.As })
}

// Open begins to read a capture as OpenWith does; as is the format, or "".
func Open(r io.Reader, name, as string) (rd Reader, what string, err error) {
	return OpenWith(r, name, Options{As: as})
}

// Check refuses options that make no sense, or none together.
func (o *Options) Check() error {
	var columns error
	if o.forced() == nil { // which knows words of its own
		_, columns = parseColumns(o.Columns)
	}
	switch {
	case o.As != "" && !slices.Contains(Formats(o.Also...), o.As):
		return fmt.Errorf("unknown format %q: want %s", o.As, FormatList(o.Also...))
	case o.Pattern != "" && o.As != "" && o.As != "log":
		return fmt.Errorf("--pattern is for a log, not for %s", o.As)
	case o.Pattern != "" && (o.Columns != "" || o.Inverted):
		return errors.New("--pattern is for a log, which has neither columns nor levels")
	case o.Columns != "" && o.As != "" && o.As != "csv" && o.As != "vcd" && o.forced() == nil:
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
