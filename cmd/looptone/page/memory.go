package page

import (
	"bytes"
	"encoding/json"
	"time"
)

// What a browser is told that comes: the latest of what went on the line.
const (
	toldCarriers = 600
	toldMessages = 300
	toldNews     = 50
)

// memory is what was told, as far as a browser that comes must know it.
type memory struct {
	hello  *Hello
	told   time.Time // when hello.Clock was
	values []byte    // as they were told last
}

// keep takes note of an event, and reports whether it is news.
func (m *memory) keep(e *event) (news bool) {
	h := m.hello
	if _, first := e.data.(*Hello); h == nil && !first {
		return false // the hello that comes has it
	}
	switch x := e.data.(type) {
	case *Hello:
		if h != nil && h.Epoch == x.Epoch { // the picture has changed, nothing else
			x.Carriers, x.Messages, x.News = h.Carriers, h.Messages, h.News
		}
		m.hello, m.told, m.values = x, time.Now(), nil
	case Clock:
		h.Clock, m.told = x, time.Now()
	case Carrier:
		h.Carriers = m.keepCarrier(x)
	case Message:
		h.Messages = m.keepMessage(x)
	case News:
		h.News = append(h.News[max(0, len(h.News)-toldNews+1):], x)
	case Values:
		h.Values = x
		return m.changed(x)
	case []Station:
		h.Stations = x
	case Standing:
		h.Standing = x
	case *Ask:
		h.Ask = x
	}
	return true
}

// changed reports whether values are others than before, their time left out.
func (m *memory) changed(v Values) bool {
	v.Time = 0
	text, err := json.Marshal(v)
	if err != nil {
		panic(err) // numbers that are none have been taken out
	}
	same := bytes.Equal(text, m.values)
	m.values = text
	return !same
}

// keepCarrier keeps a carrier, in the place of the same one before it was known whole.
func (m *memory) keepCarrier(c Carrier) []Carrier {
	list := m.hello.Carriers
	for i := len(list) - 1; i >= max(0, len(list)-4); i-- {
		if list[i].N == c.N {
			list[i] = c
			return list
		}
	}
	return latest(append(list, c), toldCarriers)
}

func (m *memory) keepMessage(x Message) []Message {
	list := m.hello.Messages
	for i := len(list) - 1; i >= max(0, len(list)-4); i-- {
		if list[i].N == x.N {
			list[i] = x
			return list
		}
	}
	return latest(append(list, x), toldMessages)
}

// latest are the last of a list: so many, or up to twice as many, so that a list
// that is full is moved now and then only.
func latest[T any](list []T, most int) []T {
	if len(list) < 2*most {
		return list
	}
	return append(list[:0], list[len(list)-most:]...)
}

// tell is the line as it is now.
func (m *memory) tell() *Hello {
	h := *m.hello
	now := time.Now()
	h.Clock.Line += h.Clock.Pace * now.Sub(m.told).Seconds()
	return &h
}
