package page

import (
	"fmt"
	"net/http"
	"strconv"
)

// device opens a device.
func (s *server) device(w http.ResponseWriter, r *http.Request) {
	text := r.URL.Query().Get("i")
	i, err := strconv.Atoi(text)
	if err != nil {
		http.Error(w, fmt.Sprintf("i: got %.40q, want the number of a device, from 0", text), http.StatusBadRequest)
		return
	}
	var o *Opened
	switch on := s.page.do(func(scene *Scene) { o = scene.opened(i) }); {
	case !on:
		http.Error(w, "the line does not run now: try again", http.StatusServiceUnavailable)
	case o == nil:
		http.Error(w, fmt.Sprintf("device %d is not on this line", i), http.StatusNotFound)
	default:
		answer(w, o)
	}
}

// trend tells what was measured so far.
func (s *server) trend(w http.ResponseWriter, _ *http.Request) {
	scene := s.page.now.Load()
	if scene == nil {
		http.Error(w, "the line does not run now: try again", http.StatusServiceUnavailable)
		return
	}
	answer(w, scene.trend.tell())
}
