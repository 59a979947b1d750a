package page

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"strconv"
	"time"
)

// Limits of what comes in.
const (
	mostBody       = 64 << 10
	mostHeader     = 16 << 10
	mostConns      = 2*mostViewers + 100
	patience       = 10 * time.Second // for a request, an answer, and for a viewer to take something
	headerPatience = 5 * time.Second
	idlePatience   = time.Minute
)

// A server serves a page to browsers.
type server struct {
	page  *Page
	guard *guard
	files map[string]*file
}

// Serve serves the page to browsers on l until ctx ends; host is the one that was asked
// for, empty for none. Who is connected then is not waited for.
func (p *Page) Serve(ctx context.Context, l net.Listener, host string) error {
	s := &server{p, newGuard(host, l.Addr()), files()}
	h := &http.Server{
		Handler: s, ReadHeaderTimeout: p.headerPatience, ReadTimeout: patience, WriteTimeout: patience,
		IdleTimeout: idlePatience, MaxHeaderBytes: mostHeader,
		BaseContext: func(net.Listener) context.Context { return ctx },
		ErrorLog:    log.New(io.Discard, "", 0), // what browsers do wrong is theirs
	}
	stop := context.AfterFunc(ctx, func() { h.Close() })
	defer stop()
	if err := h.Serve(newCrowd(l)); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

func (s *server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	secure(w.Header())
	if !s.guard.isOurs(r.Host) {
		http.Error(w, "this page goes by another name: open it by the address that the program printed, or that of this machine in numbers", http.StatusMisdirectedRequest)
		return
	}
	switch r.URL.Path {
	case "/events":
		s.only(http.MethodGet, s.events)(w, r)
	case "/message":
		s.only(http.MethodGet, s.message)(w, r)
	case "/device":
		s.only(http.MethodGet, s.device)(w, r)
	case "/trend":
		s.only(http.MethodGet, s.trend)(w, r)
	case "/do":
		s.only(http.MethodPost, s.do)(w, r)
	default:
		s.file(w, r)
	}
}

// only refuses other methods, and other pages.
func (s *server) only(method string, serve http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		switch {
		case r.Method != method:
			w.Header().Set("Allow", method)
			http.Error(w, fmt.Sprintf("got %s, want %s", r.Method, method), http.StatusMethodNotAllowed)
		case !isSameOrigin(r):
			http.Error(w, "another page has asked for this", http.StatusForbidden)
		default:
			serve(w, r)
		}
	}
}

func (s *server) file(w http.ResponseWriter, r *http.Request) {
	f := s.files[r.URL.Path]
	switch {
	case f == nil:
		http.Error(w, "there is nothing here", http.StatusNotFound)
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, fmt.Sprintf("got %s, want GET", r.Method), http.StatusMethodNotAllowed)
	default:
		f.serve(w, r)
	}
}

// message takes a message apart.
func (s *server) message(w http.ResponseWriter, r *http.Request) {
	text := r.URL.Query().Get("n")
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		http.Error(w, fmt.Sprintf("n: got %.40q, want the number of a message", text), http.StatusBadRequest)
		return
	}
	var x Apart
	ok := false
	if scene := s.page.now.Load(); scene != nil {
		x, ok = scene.apart.find(n)
	}
	if !ok {
		http.Error(w, fmt.Sprintf("message %d is not kept: the latest %d are", n, archiveLen), http.StatusNotFound)
		return
	}
	answer(w, x)
}

// do does what a wish says.
func (s *server) do(w http.ResponseWriter, r *http.Request) {
	if !isKey(r.Header.Get("X-Looptone-Key"), s.page.key) {
		http.Error(w, "only who has the key of this line can change it: open the page by the address with the key that the program printed", http.StatusForbidden)
		return
	}
	wish, status, err := readWish(w, r)
	if err != nil {
		http.Error(w, err.Error(), status)
		return
	}
	var o Outcome
	if !s.page.do(func(scene *Scene) { o = scene.grant(wish) }) {
		o = refusal(errors.New("the line does not run now: try again"))
	}
	answer(w, o)
}

func readWish(w http.ResponseWriter, r *http.Request) (wish *Wish, status int, err error) {
	if kind := r.Header.Get("Content-Type"); kind != "application/json" {
		return nil, http.StatusUnsupportedMediaType, fmt.Errorf("content type: got %.80q, want application/json", kind)
	}
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostBody))
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return nil, http.StatusRequestEntityTooLarge, fmt.Errorf("a wish is longer than %d bytes", mostBody)
	case err != nil:
		return nil, http.StatusBadRequest, err
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	wish = &Wish{}
	if err := d.Decode(wish); err != nil {
		return nil, http.StatusBadRequest, fmt.Errorf("a wish is a JSON object: %w", err)
	}
	if _, err := d.Token(); err != io.EOF {
		return nil, http.StatusBadRequest, errors.New("a wish is one JSON object, and something stands behind it")
	}
	return wish, 0, nil
}

func answer(w http.ResponseWriter, x any) {
	text, err := json.Marshal(x)
	if err != nil {
		panic(err) // texts and numbers
	}
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.Write(text)
}
