package userfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// ParseWords reads the argument of a flag, such as
//
//	late reply, device=LT-103, delay_chars=30
//
// What stands before the first comma may have no key; then it is the value of key
// first. A value that holds a comma, or blanks at its ends, stands in quotes. An
// [*Error] calls the text flag, and has no line.
func ParseWords(flag, text, first string) (*Table, error) {
	return wordsLike(flag, text, first, "probability=0.1", `"late reply, device=LT-103"`)
}

// ParsePairs is [ParseWords] where each word has its key. Messages name one of them,
// such as "clock_ppm=1000", as an instance.
func ParsePairs(flag, text, instance string) (*Table, error) {
	return wordsLike(flag, text, "", instance, `"`+instance+`, KEY=VALUE"`)
}

func wordsLike(flag, text, first, instance, list string) (*Table, error) {
	d := &document{file: flag, text: []byte(text), notation: inWords, values: map[string]any{}, places: map[string]place{}}
	for at := 0; at <= len(text); {
		item := span{at, at + itemLength(text[at:])}
		if err := d.word(item, first, instance, list); err != nil {
			return nil, err
		}
		at, first = item.to+1, ""
	}
	return &Table{Name: flag, doc: d, values: d.values}, nil
}

// itemLength is how long the text up to the next comma is that stands in no
// quotes.
func itemLength(text string) int {
	quoted := false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '"':
			quoted = !quoted
		case c == '\\' && quoted:
			i++
		case c == ',' && !quoted:
			return i
		}
	}
	return len(text)
}

// word notes one key and its value. A value without a key is that of key alone; instance
// and list are what messages show.
func (d *document) word(item span, alone, instance, list string) error {
	item = d.trim(item)
	text := string(d.text[item.from:item.to])
	key, value, ok := strings.Cut(text, "=")
	at := place{d.trim(span{item.from, item.from + len(key)}), d.trim(span{item.to - len(value), item.to})}
	switch key = strings.TrimSpace(key); {
	case text == "":
		return d.refuse(item.from, fmt.Errorf("there is nothing, want a key and its value, for instance %s", instance))
	case !ok && alone == "":
		return d.refuse(item.from, fmt.Errorf("%q has no value, want for instance %s", text, instance))
	case !ok:
		key, at = alone, place{item, item}
	}
	if strings.ContainsFunc(key, unicode.IsSpace) || key == "" {
		return d.refuse(at.key.from, fmt.Errorf("%q is no key: want a comma in front of each key, "+
			"for instance %s", key, list))
	}
	if _, twice := d.values[key]; twice {
		return d.refuse(at.key.from, fmt.Errorf("key %q is there twice, want it once", key))
	}
	v, err := valueOf(string(d.text[at.value.from:at.value.to]))
	if err != nil {
		return d.refuse(at.value.from, err)
	}
	d.values[key], d.places[key] = v, at
	return nil
}

// trim is a span without the blanks at its ends.
func (d *document) trim(s span) span {
	text := string(d.text[s.from:s.to])
	s.from += len(text) - len(strings.TrimLeftFunc(text, unicode.IsSpace))
	return span{s.from, s.from + len(strings.TrimSpace(text))}
}

// valueOf is a number, a text in quotes, or a text.
func valueOf(text string) (any, error) {
	if strings.HasPrefix(text, `"`) {
		v, err := strconv.Unquote(text)
		if err != nil {
			return nil, fmt.Errorf("%s is no text in quotes, want for instance \"LT-103\"", text)
		}
		return v, nil
	}
	if text == "" || !slices.Contains([]byte("+-.0123456789"), text[0]) {
		return text, nil
	}
	if n, err := strconv.ParseInt(text, 10, 64); err == nil {
		return n, nil
	}
	if x, err := strconv.ParseFloat(text, 64); err == nil {
		return x, nil
	}
	return text, nil
}
