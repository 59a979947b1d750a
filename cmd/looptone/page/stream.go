package page

import (
	"errors"
	"net/http"
	"time"
)

// pieceLen is how much a viewer is sent at once, and breath how long is waited for more,
// so that what comes close together goes together.
const (
	pieceLen = 32 << 10
	breath   = 20 * time.Millisecond
)

// events tells a viewer what happens, until it goes, falls behind, or takes nothing any
// more.
func (s *server) events(w http.ResponseWriter, r *http.Request) {
	v, err := s.join(r)
	if err != nil {
		w.Header().Set("Retry-After", "5")
		http.Error(w, err.Error()+": try again later", http.StatusServiceUnavailable)
		return
	}
	defer s.page.hub.leave(v)
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	out := http.NewResponseController(w)
	if out.SetReadDeadline(time.Time{}) != nil {
		return // the connection has gone
	}
	send := func(b []byte) bool {
		if out.SetWriteDeadline(time.Now().Add(s.page.patience)) != nil {
			return false
		}
		_, err := w.Write(b)
		return err == nil && out.Flush() == nil
	}
	hello := v.hello
	v.hello = nil
	if send(append([]byte("retry: 1000\n\n"), hello...)) {
		s.follow(r, v, send)
	}
}

// join waits until a line runs, and lets a viewer begin there.
func (s *server) join(r *http.Request) (*viewer, error) {
	select {
	case <-s.page.hub.begun:
		return s.page.hub.join()
	case <-s.page.hub.over:
	case <-r.Context().Done():
	}
	return nil, errNoLine
}

// follow sends a viewer what comes.
func (s *server) follow(r *http.Request, v *viewer, send func([]byte) bool) {
	piece := make([]byte, pieceLen)
	pause := time.NewTimer(breath)
	defer pause.Stop()
	for {
		n, more, err := s.page.hub.read(v, piece)
		switch {
		case errors.Is(err, errBehind):
			return
		case n > 0:
			if !send(piece[:n]) {
				return
			}
			continue
		}
		select {
		case <-more:
			pause.Reset(breath)
			select {
			case <-pause.C:
			case <-r.Context().Done():
				return
			}
		case <-s.page.hub.over:
			return
		case <-r.Context().Done():
			return
		}
	}
}
