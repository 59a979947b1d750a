package payload

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"looptone/frame/near"
	"looptone/frame/unit"
)

// Contents is a [Source] by field name: one content for a field outside a
// repeated group, one a slot within.
type Contents map[string][]Content

// Content gives what is held for f.
func (c Contents) Content(f *Field, slot int) (Content, bool) {
	if held, i := c[f.Name], max(slot, 0); i < len(held) {
		return held[i], true
	}
	return Content{}, false
}

// Parse reads contents for l as a person types them: words name=content, where
// underscores may stand for the blanks of a name. A name that is repeated fills
// the slots of the group in order. Errors are sentences for that person.
func (l *Layout) Parse(words []string) (Contents, error) {
	contents := Contents{}
	for _, word := range words {
		name, text, ok := strings.Cut(word, "=")
		if !ok {
			return nil, fmt.Errorf("%q gives no field a content, want name=content", word)
		}
		f, most := l.named(name)
		if f == nil {
			return nil, l.noField(name)
		}
		slot := len(contents[f.Name])
		if slot == most {
			return nil, &FieldError{f.Name, -1, fmt.Errorf("%w: got %d times, want at most %d", ErrRepeated, slot+1, most)}
		}
		c, err := f.Parse(text)
		if err != nil {
			if !l.inGroup(f) {
				slot = -1
			}
			return nil, &FieldError{f.Name, slot, err}
		}
		contents[f.Name] = append(contents[f.Name], c)
	}
	return contents, nil
}

// named finds a field by what was typed, and how often it may be given.
func (l *Layout) named(typed string) (f *Field, most int) {
	for _, part := range [...]struct {
		fields []Field
		most   int
	}{{l.Head, 1}, {l.Group, l.Max}, {l.Tail, 1}} {
		for i := range part.fields {
			if f := &part.fields[i]; plain(f.Name) == plain(typed) {
				return f, part.most
			}
		}
	}
	return nil, 0
}

func (l *Layout) inGroup(f *Field) bool {
	g, _ := find(l.Group, 0, f.Name)
	return g == f
}

func (l *Layout) noField(typed string) error {
	var names []string
	for _, f := range slices.Concat(l.Head, l.Group, l.Tail) {
		names = append(names, strings.ReplaceAll(f.Name, " ", "_"))
	}
	if len(names) == 0 {
		return fmt.Errorf("%w: got %q, but there are none here", ErrNoField, typed)
	}
	if instead := near.Name(strings.ReplaceAll(plain(typed), " ", "_"), names); instead != "" {
		return fmt.Errorf("%w: got %q: did you mean %s?", ErrNoField, typed, instead)
	}
	return fmt.Errorf("%w: got %q, want one of %s", ErrNoField, typed, enumerate(names))
}

// plain is a typed name as it stands in definitions and tables.
func plain(typed string) string {
	return strings.ToLower(strings.ReplaceAll(strings.TrimSpace(typed), "_", " "))
}

// Parse reads the content of a field as a person types it: numbers in decimal or
// as 0x…, units by symbol or code, enumerations by number or meaning, flags by
// number or by their names with commas between, dates as yyyy-mm-dd, times in
// seconds, uninterpreted bytes in hex.
func (f *Field) Parse(text string) (Content, error) {
	switch f.Type {
	case PackedASCII, Latin1, Date:
		return Content{Text: text}, nil
	case Bytes:
		return parseHex(text)
	case UnitCode:
		if code, ok := unit.Lookup(text); ok {
			return Content{Number: float64(code)}, nil
		}
		if n, err := strconv.ParseUint(text, 10, 8); err == nil {
			return Content{Number: float64(n)}, nil
		}
		return Content{}, noUnit(text)
	case Enumeration, Flags:
		if n, ok := f.meant(text); ok {
			return Content{Number: float64(n)}, nil
		}
	}
	x, err := parseNumber(text)
	switch {
	case err == nil:
		return Content{Number: x}, nil
	case f.Type == Enumeration || f.Type == Flags:
		return Content{}, f.noMeaning(text)
	}
	return Content{}, fmt.Errorf("%w: got %q", err, text)
}

func noUnit(typed string) error {
	var symbols []string
	for _, c := range unit.Codes() {
		symbols = append(symbols, c.String())
	}
	if instead := near.Name(typed, symbols); instead != "" {
		return fmt.Errorf("%q %w: did you mean %q?", typed, ErrUnit, instead)
	}
	return fmt.Errorf("%q %w, want a symbol or a code from 0 to 255", typed, ErrUnit)
}

func parseHex(text string) (Content, error) {
	b, err := hex.DecodeString(strings.NewReplacer(" ", "", "_", "").Replace(text))
	if err != nil {
		return Content{}, fmt.Errorf("%w: got %q, want two hex digits a byte", ErrHex, text)
	}
	return Content{Bytes: b}, nil
}

// parseNumber reads decimals and 0x… ; a number that no float holds is too large.
func parseNumber(text string) (float64, error) {
	if digits, ok := strings.CutPrefix(strings.ToLower(text), "0x"); ok {
		n, err := strconv.ParseUint(digits, 16, 32)
		switch {
		case errors.Is(err, strconv.ErrRange):
			return 0, ErrTooLarge
		case err != nil:
			return 0, ErrNumber
		}
		return float64(n), nil
	}
	x, err := strconv.ParseFloat(text, 64)
	switch {
	case err == nil:
		return x, nil
	case math.IsInf(x, 0):
		return 0, ErrTooLarge
	}
	return 0, ErrNumber
}

// meant is the number of a meaning, or of several flags.
func (f *Field) meant(text string) (n uint32, ok bool) {
	t := f.table()
	if f.Type == Enumeration {
		return t.Code(plain(text))
	}
	for name := range strings.SplitSeq(text, ",") {
		bits, ok := t.Code(plain(name))
		if !ok {
			return 0, false
		}
		n |= bits
	}
	return n, true
}

func (f *Field) noMeaning(text string) error {
	want := "want a number"
	if meanings := f.table().meanings(); len(meanings) > 0 {
		want += " or one of " + enumerate(meanings)
	}
	return fmt.Errorf("%w: got %q, %s", ErrMeaning, text, want)
}
