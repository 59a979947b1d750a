package page

import (
	"encoding/json"
	"errors"
	"sync"
	"sync/atomic"
)

// How much is kept for browsers that are behind, and how many events may wait to be
// encoded. Full traffic of fifteen devices is 30 kB a second.
const (
	ringLen    = 2 << 20
	waitingLen = 4096
)

// mostViewers is how many browsers may look on at once.
const mostViewers = 200

// What ends the stream of a viewer.
var (
	errBehind  = errors.New("the browser has fallen behind")
	errCrowded = errors.New("too many browsers look on")
	errNoLine  = errors.New("no line runs yet")
)

// An event is what viewers are told: its name, and what it is.
type event struct {
	name string
	data any // not changed any more
}

// A hub hands on what happens on the line to all viewers. Who tells it never waits:
// events are encoded once, by the hub's own goroutine, into a ring of bytes in which
// each viewer has a place.
type hub struct {
	waiting chan event
	missed  atomic.Bool   // an event found no room: nobody's picture is whole any more
	partial atomic.Bool   // nor is the one that is kept: it is to be told anew
	begun   chan struct{} // is closed when there is something to show
	over    chan struct{}
	done    chan struct{}

	mu      sync.Mutex // holds what follows
	ring    [ringLen]byte
	end     int64         // how many bytes there were
	more    chan struct{} // is closed when there are more
	viewers map[*viewer]struct{}
	memory  memory
}

// A viewer reads from a place in the ring.
type viewer struct {
	at    int64
	hello []byte // that it is told first
	gone  bool   // it has to come back
}

func newHub() *hub {
	h := &hub{waiting: make(chan event, waitingLen), more: make(chan struct{}), begun: make(chan struct{}), over: make(chan struct{}),
		done: make(chan struct{}), viewers: map[*viewer]struct{}{}}
	go h.run()
	return h
}

// begin is the first hello, before which nothing may be told.
func (h *hub) begin(hello *Hello) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.memory.keep(&event{"hello", hello})
	close(h.begun)
}

// tell hands over an event; it never blocks.
func (h *hub) tell(name string, data any) {
	select {
	case h.waiting <- event{name, data}:
	default:
		h.missed.Store(true)
	}
}

// close ends the hub, and the streams of all viewers.
func (h *hub) close() {
	close(h.over)
	<-h.done
}

func (h *hub) run() {
	defer close(h.done)
	for {
		select {
		case e := <-h.waiting:
			h.take(e)
		case <-h.over:
			h.mu.Lock()
			h.wake()
			h.mu.Unlock()
			return
		}
	}
}

// take encodes an event, and others that wait, as far as viewers can follow.
func (h *hub) take(e event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	enough := h.end + ringLen/8
	for more := true; more; {
		if h.memory.keep(&e) {
			h.append(encoded(e.name, e.data))
		}
		if more = h.end < enough; more {
			select {
			case e = <-h.waiting:
			default:
				more = false
			}
		}
	}
	if h.missed.Swap(false) {
		h.partial.Store(true)
		for v := range h.viewers {
			v.gone = true
		}
	}
	h.wake()
}

func (h *hub) wake() {
	close(h.more)
	h.more = make(chan struct{})
}

func (h *hub) append(text []byte) {
	for len(text) > 0 {
		n := copy(h.ring[h.end%ringLen:], text)
		h.end += int64(n)
		text = text[n:]
	}
}

// encoded is an event as server-sent events have it. JSON has no line breaks.
func encoded(name string, data any) []byte {
	text, err := json.Marshal(data)
	if err != nil {
		panic(err) // numbers that are none have been taken out
	}
	b := make([]byte, 0, len(text)+len(name)+16)
	b = append(b, "event: "...)
	b = append(b, name...)
	b = append(b, "\ndata: "...)
	b = append(b, text...)
	return append(b, "\n\n"...)
}

// join lets a viewer begin at the present. The hub has begun.
func (h *hub) join() (*viewer, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.viewers) >= mostViewers {
		return nil, errCrowded
	}
	v := &viewer{at: h.end, hello: encoded("hello", h.memory.tell())}
	h.viewers[v] = struct{}{}
	return v, nil
}

func (h *hub) leave(v *viewer) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.viewers, v)
}

// read gives a viewer what is there for it, into b, or what to wait for.
func (h *hub) read(v *viewer, b []byte) (n int, more <-chan struct{}, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if v.gone || h.end-v.at > ringLen {
		return 0, nil, errBehind
	}
	for n < len(b) && v.at < h.end {
		from := v.at % ringLen
		part := copy(b[n:], h.ring[from:min(ringLen, from+h.end-v.at)])
		v.at += int64(part)
		n += part
	}
	return n, h.more, nil
}
