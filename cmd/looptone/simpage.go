package main

import (
	"context"
	"fmt"
	"net"
	"strings"

	"looptone/cmd/looptone/page"
	"looptone/sim"
	"looptone/sim/live"
)

// pageFlags say where browsers find the page of a line.
type pageFlags struct {
	at string // HOST:PORT; empty: there is no page
}

// check refuses what is no place to listen at. Without a host it is this machine alone.
func (o *pageFlags) check() error {
	if o.at == "" {
		return nil
	}
	host, port, err := net.SplitHostPort(o.at)
	if err != nil || port == "" {
		return fmt.Errorf("--page: got %q, want HOST:PORT, for instance 127.0.0.1:8080", o.at)
	}
	if host == "" {
		o.at = net.JoinHostPort("127.0.0.1", port)
	}
	return nil
}

// Caution where the page can be reached from other machines. Source: common practice.
const networkCaution = `caution: everybody in the network can look on at this page. Nothing on the way is
  encrypted: whoever listens there while the key is used has it too.`

// show is what shows a line that runs to browsers; nil: it is not shown.
type show struct {
	page  *page.Page
	scene *page.Scene // what it shows now
}

// openPage opens the page, if one is wanted, and says where it is. The end that it gives
// is to be called when no line runs any more.
func (s *simulation) openPage(ctx context.Context, name string) (end func(), err error) {
	if s.page.at == "" {
		return func() {}, nil
	}
	l, err := net.Listen("tcp", s.page.at)
	if err != nil {
		return nil, fmt.Errorf("--page: %w", err)
	}
	s.shown = &show{page: page.New(page.Config{
		Description: s.description, Shown: name, Outside: s.reached(), Cautions: s.pageCautions(),
		Caution: cautionsOf(writeCaution)[0], Fixed: s.fixed(), Polls: len(s.description.Masters) == 0 && !s.reached(),
	})}
	ctx, cancel := context.WithCancel(ctx)
	served := make(chan struct{})
	host, _, _ := net.SplitHostPort(s.page.at) // as it was checked
	go func() {
		defer close(served)
		if err := s.shown.page.Serve(ctx, l, host); err != nil {
			fmt.Fprintf(s.stderr, "--page: %v\n", err)
		}
	}()
	at := pageAddress(s.page.at, l.Addr())
	fmt.Fprintf(s.stderr, "page at http://%s/\nto change the line, too: http://%s/#key=%s\n", at, at, s.shown.page.Key())
	if tcp, ok := l.Addr().(*net.TCPAddr); ok && !tcp.IP.IsLoopback() {
		fmt.Fprintln(s.stderr, networkCaution)
	}
	return func() {
		cancel()
		<-served
		s.shown.page.Close()
	}, nil
}

// pageAddress is what to type into a browser on this machine.
func pageAddress(asked string, at net.Addr) string {
	host, _, _ := net.SplitHostPort(asked) // as it was checked
	_, port, _ := net.SplitHostPort(at.String())
	switch host {
	case "0.0.0.0":
		host = "127.0.0.1"
	case "::":
		host = "::1"
	}
	return net.JoinHostPort(host, port)
}

// pageCautions are for a page behind which something real may be.
func (s *simulation) pageCautions() []string {
	if !s.reached() {
		return nil
	}
	cautions := []string{"Somebody outside can be on this line, over " + strings.Join(s.waysIn(), " and ") +
		": its time never stands still, and what is paused here is this view only."}
	if _, real := s.real(); real {
		cautions = append(cautions, cautionsOf(portCaution, writeCaution)...)
	}
	return cautions
}

// waysIn are the flags that lead to the line from outside.
func (s *simulation) waysIn() (ways []string) {
	real, ok := s.real()
	if s.pty != "" {
		ways = append(ways, "the pty "+s.pty)
	}
	if ok {
		ways = append(ways, real)
	}
	if s.listen != "" {
		ways = append(ways, "TCP at "+s.listen)
	}
	return ways
}

// fixed is why the line cannot be put back to its start; empty: it can.
func (s *simulation) fixed() string {
	for _, x := range [...]struct {
		there bool
		why   string
	}{
		{s.reached(), "somebody outside may be on the line"},
		{s.control != "", "actions come over --control"},
		{s.state.file != "", "the devices remember what --state keeps"},
		{s.log != "", "its --log goes on"},
		{s.values.span > 0, "its --values go on"},
		{s.findings, "its --findings are of one run"},
		{s.json, "its --json goes on"},
	} {
		if x.there {
			return x.why
		}
	}
	return ""
}

// begin shows a line that is about to run.
func (w *show) begin(s *simulation, r *live.Runner) {
	if w != nil {
		w.scene = w.page.Show(s.assembly, r)
	}
}

func (w *show) end() {
	if w != nil {
		w.scene.End()
	}
}

// over reports whether the line is to be put back to its start.
func (w *show) over() bool { return w != nil && w.scene.Over() }

func (w *show) carrier(talker *sim.Seat, b *sim.Burst) {
	if w != nil {
		w.scene.Carrier(talker, b)
	}
}

// did tells of an action, and news of what the electricity does.
func (w *show) did(says string) {
	if w != nil {
		w.scene.Did("", says)
	}
}

func (w *show) news(says string) {
	if w != nil {
		w.scene.News("", says)
	}
}
