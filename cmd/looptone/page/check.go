package page

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"looptone/frame"
)

// Limits of what a browser may ask for.
const (
	longestName  = 40 // characters of what somebody calls himself
	mostFields   = 64
	longestField = 256 // bytes of one, and of all data as hex twice that many
	longestEvery = 86_400
)

// check refuses what no wish may hold.
func (w *Wish) check() error {
	switch {
	case utf8.RuneCountInString(w.By) > longestName:
		return fmt.Errorf("by: got %d characters, want %d at the most", utf8.RuneCountInString(w.By), longestName)
	case !slices.Contains([]string{"", "primary", "secondary"}, w.As):
		return fmt.Errorf("as: got %q, want primary or secondary", w.As)
	case w.Command < 0 || w.Command > math.MaxUint16:
		return fmt.Errorf("command: got %d, want 0 to %d", w.Command, math.MaxUint16)
	case w.Polling != nil && (*w.Polling < 0 || *w.Polling > frame.MaxPolling):
		return fmt.Errorf("polling: got %d, want 0 to %d", *w.Polling, frame.MaxPolling)
	case w.Polling != nil && w.Device != "":
		return fmt.Errorf("polling: got %d beside device %q, want one of the two", *w.Polling, w.Device)
	case w.To != nil && (*w.To < 0 || *w.To > frame.MaxPolling):
		return fmt.Errorf("to: got %d, want 0 to %d, the last polling address that is asked", *w.To, frame.MaxPolling)
	case w.Every != w.Every || w.Every < 0 || w.Every > longestEvery:
		return fmt.Errorf("every: got %g s, want 0 (whenever there is a turn) to %d s", w.Every, longestEvery)
	case len(w.Fields) > 0 && w.Data != "":
		return fmt.Errorf("data: got %q beside fields, want one of the two", w.Data)
	case len(w.Data) > 2*longestField:
		return fmt.Errorf("data: got %d hex digits, want %d at the most", len(w.Data), 2*longestField)
	case len(w.Fields) > mostFields:
		return fmt.Errorf("fields: got %d, want %d at the most", len(w.Fields), mostFields)
	}
	return nil
}

// words are the fields of a wish as a person types them, in the order of their names.
func (w *Wish) words() (words []string, err error) {
	var names []string
	for name := range w.Fields {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		contents, ok := w.Fields[name].([]any)
		if !ok {
			contents = []any{w.Fields[name]}
		}
		if len(contents) > mostFields {
			return nil, fmt.Errorf("fields: got %d contents for %s, want %d at the most", len(contents), name, mostFields)
		}
		for _, content := range contents {
			text, err := contentText(name, content)
			if err != nil {
				return nil, err
			}
			words = append(words, strings.ReplaceAll(name, " ", "_")+"="+text)
		}
	}
	return words, nil
}

// contentText is the content of a field as a person types it.
func contentText(name string, content any) (string, error) {
	switch content.(type) {
	case string, float64, int:
	default:
		return "", fmt.Errorf("fields: got %v for %s, want a number or a text", content, name)
	}
	text := fmt.Sprint(content)
	if len(text) > longestField {
		return "", fmt.Errorf("fields: got %d bytes for %s, want %d at the most", len(text), name, longestField)
	}
	return text, nil
}
