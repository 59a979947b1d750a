package report

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"slices"
	"strconv"

	"looptone/cmd/looptone/view"
	"looptone/frame"
	"looptone/frame/exchange"
)

// How many bytes of the page messages may take: those that went wrong, these and the
// first ones, and all.
const (
	mostBytesWrong = 700 << 10
	mostBytesFirst = 900 << 10
	mostBytes      = 2800 << 10
)

// kinds are what a message is, in the order of their numbers in the page.
const (
	isRequest = iota
	isReply
	isBurst
	isDamage
	isNoise
	isUnanswered
)

// A selection is the messages that the page has whole.
type selection struct {
	texts  []string
	index  map[string]int // of a text
	orders map[int]int64  // of a message's number, what it is called in the page
	rows   []row
	size   int
	wrong  int
}

// A row is a message as the page has it.
type row struct {
	order int64
	begin float64
	text  []byte
}

// choose takes as many of the kept messages as have room, the wrong ones and the first
// ones before the latest.
func (a *archive) choose() *selection {
	s := &selection{index: map[string]int{}, orders: map[int]int64{}}
	wrong, latest := append(a.wrong[:len(a.wrong):len(a.wrong)], a.latestWrong.ordered()...), a.latest.ordered()
	for _, list := range [...][]*kept{a.first, wrong, latest} {
		for _, k := range list {
			if k.message.Unanswered == 0 && !k.torn {
				s.orders[k.message.Number] = k.order
			}
		}
	}
	s.take(slices.Values(wrong), mostBytesWrong)
	s.take(slices.Values(a.first), mostBytesFirst)
	s.take(func(yield func(*kept) bool) {
		for _, k := range slices.Backward(latest) {
			if !yield(k) {
				return
			}
		}
	}, mostBytes)
	slices.SortFunc(s.rows, func(a, b row) int {
		if a.begin != b.begin {
			return map[bool]int{true: -1, false: 1}[a.begin < b.begin]
		}
		return int(a.order - b.order)
	})
	return s
}

func (s *selection) take(list func(func(*kept) bool), most int) {
	for k := range list {
		if s.size >= most {
			return
		}
		text := s.encode(k)
		s.size += len(text) + 1
		s.rows = append(s.rows, row{k.order, k.at.begin, text})
		if wrong(&k.message) {
			s.wrong++
		}
	}
}

// JSON is the array of all rows.
func (s *selection) JSON() rawJSON {
	rows := make([][]byte, len(s.rows))
	for i := range s.rows {
		rows[i] = s.rows[i].text
	}
	return append(append([]byte{'['}, bytes.Join(rows, []byte{','})...), ']')
}

// encode writes a message: what it is called, its number, from, to, begin, start, end,
// kind, sentence, hex, preambles, the request of a reply, response time, command, boxes,
// place, index of the wrong character from the delimiter on, what was wrong.
func (s *selection) encode(k *kept) []byte {
	m := k.read()
	b := append([]byte(nil), '[')
	ints := func(list ...int64) {
		for _, n := range list {
			b = append(strconv.AppendInt(b, n, 10), ',')
		}
	}
	ints(k.order, int64(m.Number), int64(k.from), int64(k.to))
	for _, at := range [...]float64{k.at.begin, k.at.start, k.at.end} {
		b = append(appendSeconds(b, at), ',')
	}
	ints(int64(kindOf(m, k.torn)))
	b = append(s.text(b, sentence(m, k.torn)), ',')
	raw := m.Raw
	preambles := m.Preambles
	if m.Unanswered > 0 {
		raw, preambles = nil, 0
	}
	b = append(append(b, '"'), hex.EncodeToString(raw)...)
	b = append(b, '"', ',')
	ints(int64(preambles), s.orders[m.ReplyTo])
	after := 0.0
	if m.Response.Known {
		after = m.Response.Time.Seconds()
	}
	b = append(appendSeconds(b, after), ',')
	ints(int64(commandOf(m)))
	b = append(s.boxes(b, m, k.torn), ',')
	b = append(s.text(b, k.place), ',')
	at, why := fault(m, k.torn)
	ints(int64(at))
	return append(s.text(b, why), ']')
}

// text writes a string that no page takes for markup, whatever is in it.
func (s *selection) text(dst []byte, text string) []byte {
	quoted, err := json.Marshal(text)
	if err != nil {
		panic(err) // a string can always be written
	}
	return append(dst, quoted...)
}

// shared is the number of a text that stands in the page once.
func (s *selection) shared(text string) int64 {
	i, ok := s.index[text]
	if !ok {
		i = len(s.texts)
		s.index[text] = i
		s.texts = append(s.texts, text)
		s.size += len(text) + 3
	}
	return int64(i)
}

// boxes writes the boxes of a whole frame: how many bytes, caption, sentence.
func (s *selection) boxes(dst []byte, m *exchange.Message, torn bool) []byte {
	dst = append(dst, '[')
	if m.Unanswered == 0 && m.Outcome == frame.Whole && !torn {
		for i, box := range view.TakeApart(m) {
			if i > 0 {
				dst = append(dst, ',')
			}
			for j, n := range [...]int64{int64(len(box.Bytes)), s.shared(box.Caption), s.shared(box.Sentence)} {
				if j > 0 {
					dst = append(dst, ',')
				}
				dst = strconv.AppendInt(dst, n, 10)
			}
		}
	}
	return append(dst, ']')
}

func sentence(m *exchange.Message, torn bool) string {
	if torn {
		return string(view.AppendTorn(nil, m))
	}
	return view.Sentence(m)
}

func kindOf(m *exchange.Message, torn bool) int {
	switch {
	case m.Unanswered > 0:
		return isUnanswered
	case torn || m.Outcome == frame.Noise:
		return isNoise
	case m.Outcome == frame.Damaged:
		return isDamage
	case m.Frame.Kind == frame.STX:
		return isRequest
	case m.Frame.Kind == frame.BACK:
		return isBurst
	}
	return isReply
}

// commandOf is the command of a message, −1 where it could not be read.
func commandOf(m *exchange.Message) int {
	if m.Unanswered > 0 || m.Outcome == frame.Whole {
		return int(m.Frame.Number())
	}
	if fault, ok := m.Err.(*frame.FaultError); ok && m.Outcome == frame.Damaged && fault.Field > frame.FieldCommand {
		return int(m.Frame.Number())
	}
	return -1
}

// fault is where something is wrong, counted from the delimiter, and what; −1 for nothing.
func fault(m *exchange.Message, torn bool) (at int, why string) {
	fault, ok := m.Err.(*frame.FaultError)
	if !ok || torn || m.Unanswered > 0 {
		return -1, ""
	}
	return int(fault.At - m.Start), fault.Error()
}
