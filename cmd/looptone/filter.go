package main

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/serialio/capture"
)

// filterFlags choose which messages are shown. What is not shown is followed all
// the same.
type filterFlags struct {
	device   string
	address  string
	command  int
	kind     string
	damaged  bool
	from, to string
	started  string

	want       frame.Address
	begin, end moment
	start      time.Time // zero where it is not given
}

// moment is a time on the command line: since the capture began, or where that is
// not known, by the wall clock.
type moment struct {
	since time.Duration
	at    time.Time // zero for one since the capture began
}

func (f *filterFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.device, "device", "", "only messages of the device with this `TAG`, once it is known")
	flags.StringVar(&f.address, "address", "", "only messages with this polling address or unique address of 10 hex digits")
	flags.IntVar(&f.command, "command", -1, "only messages with this command number")
	flags.StringVar(&f.kind, "kind", "", "only STX, ACK or BACK")
	flags.BoolVar(&f.damaged, "damage", false, "only damage, noise and unanswered requests")
	flags.StringVar(&f.from, "from", "", "only from this `TIME` on: seconds, or a wall clock time")
	flags.StringVar(&f.to, "to", "", "only up to this `TIME`")
	flags.StringVar(&f.started, "started", "", "wall clock `TIME` at which the capture began, where it does not tell that itself or is wrong, for instance 2031-03-01T03:10:07+01:00")
	choices(cmd, "kind", "STX", "ACK", "BACK")
}

func (f *filterFlags) check() error {
	switch kind := strings.ToUpper(f.kind); kind {
	case "", "STX", "ACK", "BACK":
		f.kind = kind
	default:
		return fmt.Errorf("--kind takes STX, ACK or BACK, got %q", f.kind)
	}
	if f.command < -1 || f.command > 65535 {
		return fmt.Errorf("--command %d is out of range, want 0 to 65535", f.command)
	}
	if err := f.checkAddress(); err != nil {
		return err
	}
	return f.checkTimes()
}

func (f *filterFlags) checkAddress() (err error) {
	n, notNumber := strconv.Atoi(f.address)
	switch {
	case f.address == "":
	case len(f.address) == 10:
		f.want, err = frame.ParseUnique(strings.ToLower(f.address))
	case notNumber != nil || n < 0 || n > frame.MaxPolling:
		err = fmt.Errorf("--address takes a polling address from 0 to %d or a unique address of 10 hex digits, got %q", frame.MaxPolling, f.address)
	default:
		f.want = frame.Polling(uint8(n))
	}
	return err
}

func (f *filterFlags) checkTimes() (err error) {
	if f.started != "" {
		if f.start, err = capture.ParseClock(f.started); err != nil {
			return fmt.Errorf("--started %w", err)
		}
	}
	if f.begin, err = f.moment("from", f.from); err != nil {
		return err
	}
	if f.end, err = f.moment("to", f.to); err != nil {
		return err
	}
	comparable := f.from != "" && f.to != "" && f.begin.at.IsZero() == f.end.at.IsZero()
	if comparable && (f.end.since < f.begin.since || f.end.at.Before(f.begin.at)) {
		return fmt.Errorf("--to %s lies before --from %s", f.to, f.from)
	}
	return nil
}

// mostSeconds is longer than a capture can be.
const mostSeconds = 9_000_000_000

// moment reads a time on the command line.
func (f *filterFlags) moment(flag, text string) (moment, error) {
	if text == "" {
		return moment{}, nil
	}
	if seconds, err := strconv.ParseFloat(text, 64); err == nil || errors.Is(err, strconv.ErrRange) {
		if !(math.Abs(seconds) <= mostSeconds) { // nor is that so of what is not a number
			return moment{}, fmt.Errorf("--%s %s is out of range, want at most %d seconds", flag, text, int64(mostSeconds))
		}
		return moment{since: time.Duration(seconds * float64(time.Second))}, nil
	}
	at, err := time.Parse(time.RFC3339Nano, text)
	switch {
	case err != nil:
		return moment{}, fmt.Errorf("--%s %q is no time, want seconds or for instance 2031-03-01T03:10:07+01:00", flag, text)
	case !f.start.IsZero():
		return moment{since: at.Sub(f.start)}, nil
	}
	return moment{at: at}, nil
}

// needsClock reports whether a time can only be compared with the wall clock of
// an input.
func (f *filterFlags) needsClock() bool { return !f.begin.at.IsZero() || !f.end.at.IsZero() }

// compare is −1 where the moment lies before a message, 1 where behind it; known
// tells whether that can be said.
func (t *moment) compare(m *heardMessage) (order int, known bool) {
	if t.at.IsZero() {
		return cmp.Compare(t.since, m.Span.Start), m.Span.Known
	}
	at, known := m.Span.Clock()
	return t.at.Compare(at), known
}

// any reports whether anything is filtered at all.
func (f *filterFlags) any() bool {
	return f.device != "" || f.address != "" || f.command >= 0 || f.kind != "" || f.damaged || f.from != "" || f.to != ""
}

// passes reports whether m is to be shown.
func (f *filterFlags) passes(m *heardMessage) bool {
	switch isFrame := m.Unanswered == 0 && m.Outcome == frame.Whole; {
	case f.damaged && (isFrame || m.torn):
		return false
	case f.kind != "" && (m.Outcome != frame.Whole || m.Frame.Kind.String() != f.kind):
		return false
	case f.command >= 0 && (!isFrame && m.Unanswered == 0 || int(m.Frame.Number()) != f.command):
		return false
	case f.device != "" && (m.Device == nil || m.Device.Tag != f.device && m.Device.LongTag != f.device):
		return false
	case f.address != "" && !f.meets(&m.Message):
		return false
	}
	return f.passesTime(m)
}

// meets reports whether m is to or from the address, under either of a device's.
func (f *filterFlags) meets(m *exchange.Message) bool {
	if m.Frame.Address == f.want && m.Frame.Kind != 0 {
		return true
	}
	n, ok := f.want.IsPolling()
	return m.Device != nil && (m.Device.Unique == f.want || ok && m.Device.Polling == int(n))
}

// passesTime: what has no time is shown only where none is asked for.
func (f *filterFlags) passesTime(m *heardMessage) bool {
	if f.from != "" {
		if order, known := f.begin.compare(m); !known || order > 0 {
			return false
		}
	}
	if f.to != "" {
		if order, known := f.end.compare(m); !known || order < 0 {
			return false
		}
	}
	return true
}
