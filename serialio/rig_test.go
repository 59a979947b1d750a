package serialio

import (
	"fmt"
	"io"
	"slices"
	"sync"
	"testing"
	"time"
)

// A rig is a UART with its modem on a bench: it keeps what is done to it and when,
// counted from when it was made, and does what a test wants. For use in a bubble of
// synctest, where its times are exact.
type rig struct {
	began time.Time
	in    chan []byte // that come in
	gone  chan struct{}
	drain chan struct{} // that a drain waits for, if any
	fails map[string]error

	lock   sync.Mutex
	deeds  []string
	inputs Lines
	closed bool
}

func newRig() *rig {
	return &rig{began: time.Now(), in: make(chan []byte), gone: make(chan struct{}), fails: map[string]error{}}
}

func (r *rig) do(what string) error {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.deeds = append(r.deeds, fmt.Sprintf("%v %s", time.Since(r.began), what))
	return r.fails[what]
}

func (r *rig) Read(b []byte) (int, error) {
	select {
	case chars := <-r.in:
		return copy(b, chars), nil
	case <-r.gone:
		return 0, io.EOF
	}
}

func (r *rig) Write(b []byte) (int, error) {
	if err := r.do(fmt.Sprintf("write %d", len(b))); err != nil {
		return 0, err
	}
	return len(b), nil
}

func (r *rig) Close() error {
	defer r.vanish()
	return r.do("close")
}

// vanish is what an adapter does that is pulled out.
func (r *rig) vanish() {
	r.lock.Lock()
	defer r.lock.Unlock()
	if !r.closed {
		r.closed = true
		close(r.gone)
	}
}

func (r *rig) SetWriteDeadline(time.Time) error { return nil }
func (r *rig) Discard() error                   { return r.do("discard") }

func (r *rig) Drain() error {
	if r.drain != nil {
		<-r.drain
	}
	return r.do("drain")
}

func (r *rig) SetRTS(on bool) error { return r.do("RTS " + onOff(on)) }
func (r *rig) SetDTR(on bool) error { return r.do("DTR " + onOff(on)) }

func onOff(on bool) string {
	if on {
		return "on"
	}
	return "off"
}

func (r *rig) Inputs() (Lines, error) {
	r.lock.Lock()
	defer r.lock.Unlock()
	return r.inputs, r.fails["inputs"]
}

func (r *rig) set(inputs Lines) {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.inputs = inputs
}

// fail lets deeds of that name fail from now on.
func (r *rig) fail(what string, err error) {
	r.lock.Lock()
	defer r.lock.Unlock()
	r.fails[what] = err
}

func (r *rig) want(t *testing.T, deeds ...string) {
	t.Helper()
	r.lock.Lock()
	defer r.lock.Unlock()
	if !slices.Equal(r.deeds, deeds) {
		t.Errorf("got\n%q, want\n%q", r.deeds, deeds)
	}
}

// after does something at a time counted from now.
func after(d time.Duration, do func()) { time.AfterFunc(d, do) }

const ms = time.Millisecond
