package stimulus

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"looptone/frame"
	"looptone/serialio/modemcheck"
)

// Read reads the manifest of a folder. A set that was read can be scored, and not written.
func Read(dir string) (*Set, error) {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("there is no folder %s: make a stimulus set there first", dir)
	case err != nil:
		return nil, err
	case !info.IsDir():
		return nil, fmt.Errorf("%s is a file: want the folder of a stimulus set", dir)
	}
	name := filepath.Join(dir, manifestName)
	text, err := os.ReadFile(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s has no %s: it is no stimulus set, or was not written to its end", dir, manifestName)
	case err != nil:
		return nil, err
	}
	s, err := parse(text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return s, nil
}

// parse reads a manifest.
func parse(text []byte) (*Set, error) {
	d := json.NewDecoder(bytes.NewReader(text))
	s := new(Set)
	if err := d.Decode(s); err != nil {
		return nil, placed(text, err)
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, errors.New("something stands behind its end")
	}
	return s, s.check()
}

// placed tells the line of an error in JSON.
func placed(text []byte, err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	at := int64(-1)
	switch {
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("ends too early: it is damaged")
	case errors.As(err, &syntax):
		at = syntax.Offset
	case errors.As(err, &kind):
		at, err = kind.Offset, fmt.Errorf("%s is a %s, which does not belong there", kind.Field, kind.Value)
	}
	if at < 0 {
		return err
	}
	line := 1 + bytes.Count(text[:min(at, int64(len(text)))], []byte("\n"))
	return fmt.Errorf("line %d: %w", line, err)
}

// check refuses what cannot be scored.
func (s *Set) check() error {
	switch {
	case s.Format != Format:
		return fmt.Errorf("format %q cannot be read: want %q", s.Format, Format)
	case len(s.Waveforms) == 0:
		return errors.New("it has no waveforms")
	}
	names := map[string]bool{}
	for i := range s.Waveforms {
		w := &s.Waveforms[i]
		if w.Name == "" || names[w.Name] {
			return fmt.Errorf("waveform %d has the name %q: want one that no other has", i+1, w.Name)
		}
		names[w.Name] = true
		if err := w.check(); err != nil {
			return fmt.Errorf("waveform %s: %w", w.Name, err)
		}
	}
	return nil
}

func (w *Waveform) check() error {
	for _, name := range w.Limits {
		if _, ok := limitOf(name); !ok {
			return fmt.Errorf("there is no limit %q", name)
		}
	}
	end := 0.0
	for i := range w.Messages {
		m := &w.Messages[i]
		if err := m.check(end, w.Seconds); err != nil {
			return fmt.Errorf("message %d %w", i+1, err)
		}
		end = m.end()
	}
	return nil
}

// end is where the last stop bit ends, but for what the clock is off.
func (m *Message) end() float64 { return m.At + float64(len(m.Bytes))*character }

// clockOff is by how much the clock of a sender may be off at the most.
const clockOff = 0.02

func (m *Message) check(from, to float64) error {
	switch {
	case !(m.At >= from*(1-clockOff)) || m.end() > to*(1+clockOff):
		return fmt.Errorf("stands at %v s, which is not behind the one before or not within the %v s of the file", m.At, to)
	case !m.isFrame():
		return errors.New("is no frame with a right check byte behind preambles")
	}
	return nil
}

// isFrame reports whether a message is preambles and one whole frame.
func (m *Message) isFrame() bool {
	var d frame.Decoder
	var event frame.Event
	d.Feed(m.Bytes, nil)
	d.End()
	return d.Next(&event) && event.Outcome == frame.Whole && event.End == int64(len(m.Bytes)) && int64(event.Preambles) == event.Start
}

// limitOf is the limit of that name.
func limitOf(name string) (modemcheck.Limit, bool) {
	for _, l := range Limits {
		if l.Name == name {
			return l, true
		}
	}
	return modemcheck.Limit{}, false
}
