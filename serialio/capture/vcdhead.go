package capture

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
)

// vcdHead reads the definitions of a value change dump, up to $enddefinitions.
type vcdHead struct {
	words wordReader
	want  []string // names of signals; nil for all of one bit
	found []bool   // of want
	power int      // of ten: a unit of time in nanoseconds
	scope []string
	names []string // of wires
	taps  map[string][]tap
}

// maxScope is how many bytes the names of scopes around a variable have at most.
const maxScope = 4096

// maxDefinition is how many words of a definition are kept.
const maxDefinition = 64

var (
	errNoTimescale = errors.New("is no timescale: want 1, 10 or 100 and one of s, ms, us, ns, ps, fs")
	errVariable    = errors.New("is no definition of a variable: want $var, type, size, code, name and $end")
	errDefinition  = errors.New("is nothing that the definitions of a VCD hold")
	errDefinitions = errors.New("definitions do not end: want $enddefinitions $end")
	errNesting     = errors.New("scopes are nested too deeply: want at most 4096 bytes of names")
	errManyWires   = errors.New("more than 256 signals of one bit: choose some with --columns level=NAME,level=…")
	errNoWire      = errors.New("defines no signal of one bit: choose bits with --columns level=NAME[BIT]")
)

func (h *vcdHead) read() error {
	h.found = make([]bool, len(h.want))
	for {
		word, at, err := h.words.next()
		if err == io.EOF {
			err = &SyntaxError{Position{File: h.words.in.name, Line: h.words.line, Column: h.words.col}, errDefinitions}
		}
		if err != nil {
			return err
		}
		switch string(word) {
		case "$enddefinitions":
			if _, err = h.definition(at, false); err == nil {
				return h.complete()
			}
		case "$timescale":
			err = h.timescale(at)
		case "$scope":
			err = h.enter(at)
		case "$upscope":
			h.scope = h.scope[:max(0, len(h.scope)-1)]
			_, err = h.definition(at, false)
		case "$var":
			err = h.variable(at)
		case "$date", "$version", "$comment":
			_, err = h.definition(at, false)
		default:
			err = &SyntaxError{at, fmt.Errorf("%q %w", shortened(string(word)), errDefinition)}
		}
		if err != nil {
			return err
		}
	}
}

// definition is what stands up to $end, if it is kept.
func (h *vcdHead) definition(begin Position, keep bool) (text []string, err error) {
	for {
		word, _, err := h.words.next()
		switch {
		case err == io.EOF:
			return nil, &SyntaxError{begin, errors.New("definition does not end: want $end")}
		case err != nil:
			return nil, err
		case string(word) == "$end":
			return text, nil
		case keep && len(text) < maxDefinition:
			text = append(text, string(word))
		}
	}
}

func (h *vcdHead) timescale(at Position) error {
	text, err := h.definition(at, true)
	if err != nil {
		return err
	}
	joined := strings.Join(text, "")
	number := strings.TrimRight(joined, "smunpf")
	power, known := units[joined[len(number):]]
	zeros := map[string]int{"1": 0, "10": 1, "100": 2}
	more, ok := zeros[number]
	if !known || !ok {
		return &SyntaxError{at, fmt.Errorf("%q %w", shortened(joined), errNoTimescale)}
	}
	h.power = power + more
	return nil
}

func (h *vcdHead) enter(at Position) error {
	text, err := h.definition(at, true)
	if err != nil {
		return err
	}
	name := ""
	if len(text) > 1 {
		name = text[1]
	}
	if h.scope = append(h.scope, name); len(strings.Join(h.scope, ".")) > maxScope || len(h.scope) > maxScope {
		return &SyntaxError{at, errNesting}
	}
	return nil
}

// variable takes a definition of a variable: its bits that are wanted become wires.
func (h *vcdHead) variable(at Position) error {
	text, err := h.definition(at, true)
	if err != nil {
		return err
	}
	size := 0
	if len(text) >= 4 {
		size, _ = strconv.Atoi(text[1])
	}
	if size < 1 {
		return &SyntaxError{at, fmt.Errorf("%q %w", shortened(strings.Join(text, " ")), errVariable)}
	}
	switch text[0] {
	case "real", "realtime", "event", "time", "string":
		return nil
	}
	v := dumped{code: text[2], size: size, name: strings.Join(text[3:], "")}
	v.cutRange()
	if h.want == nil {
		return h.every(&v, at)
	}
	return h.wanted(&v, at)
}

// dumped is a variable of a dump.
type dumped struct {
	code, name string // without a range
	size       int
	left       int // number of the bit on the left
	right      int // and on the right
}

// cutRange cuts [7:0] from the name.
func (v *dumped) cutRange() {
	v.left = v.size - 1
	name, bits, found := strings.Cut(strings.TrimSuffix(v.name, "]"), "[")
	left, right, isRange := strings.Cut(bits, ":")
	l, err1 := strconv.Atoi(left)
	r, err2 := strconv.Atoi(right)
	if found && isRange && errors.Join(err1, err2) == nil {
		v.name, v.left, v.right = name, l, r
	}
}

// every makes a wire of a variable of one bit, unless it has another name as well.
func (h *vcdHead) every(v *dumped, at Position) error {
	if v.size > 1 || h.taps[v.code] != nil {
		return nil
	}
	return h.tap(v.code, v.name, 0, at)
}

// wanted makes wires of what is asked for by its name or by its path.
func (h *vcdHead) wanted(v *dumped, at Position) error {
	path := strings.Join(append(slices.Clone(h.scope), v.name), ".")
	for i, want := range h.want {
		bit, ok := v.bitFor(want, path)
		switch {
		case !ok:
			continue
		case h.found[i] && !slices.Contains(h.taps[v.code], tap{i, bit}):
			return &SyntaxError{at, fmt.Errorf("signal %q is there twice: want its whole path, for instance level=%s", want, path)}
		case h.found[i]:
			continue
		}
		h.found[i] = true
		if h.names == nil {
			h.names = slices.Clone(h.want)
		}
		h.taps[v.code] = append(h.taps[v.code], tap{i, bit})
	}
	return nil
}

// bitFor is the bit, counted from the right, that a wanted signal means.
func (v *dumped) bitFor(want, path string) (bit int, ok bool) {
	if v.size == 1 && (want == v.name || want == path) {
		return 0, true
	}
	name, number, found := strings.Cut(strings.TrimSuffix(want, "]"), "[")
	n, err := strconv.Atoi(number)
	if !found || err != nil || name != v.name && name != path {
		return 0, false
	}
	if bit = n - v.right; v.left < v.right {
		bit = v.right - n
	}
	return bit, bit >= 0 && bit < v.size
}

func (h *vcdHead) tap(code, name string, bit int, at Position) error {
	if len(h.names) == maxStreams {
		return &SyntaxError{at, errManyWires}
	}
	h.taps[code] = append(h.taps[code], tap{len(h.names), bit})
	h.names = append(h.names, name)
	return nil
}

// complete looks whether everything is there that is wanted.
func (h *vcdHead) complete() error {
	for i, want := range h.want {
		if !h.found[i] {
			return fmt.Errorf("%s has no signal %q of one bit", h.words.in.name, want)
		}
	}
	if len(h.names) == 0 {
		return fmt.Errorf("%s %w", h.words.in.name, errNoWire)
	}
	return nil
}
