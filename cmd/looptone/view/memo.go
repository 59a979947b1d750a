package view

// A memo keeps a text for each of some things, and when they are too many, for the
// last of them. The zero memo is ready. Whoever asks gives a number that mostly
// differs where the things do, so that hardly ever a map is needed.
type memo[K comparable] struct {
	recent [64]struct {
		key  K
		text string
	}
	all map[K]string
}

// mostTexts are more than a line needs.
const mostTexts = 4096

func (m *memo[K]) get(key K, number int) (text string, ok bool) {
	slot := &m.recent[number&(len(m.recent)-1)]
	if slot.key == key && slot.text != "" {
		return slot.text, true
	}
	if text, ok = m.all[key]; ok {
		slot.key, slot.text = key, text
	}
	return text, ok
}

func (m *memo[K]) put(key K, number int, text string) {
	switch {
	case m.all == nil:
		m.all = map[K]string{}
	case len(m.all) == mostTexts:
		clear(m.all)
	}
	m.all[key] = text
	slot := &m.recent[number&(len(m.recent)-1)]
	slot.key, slot.text = key, text
}
