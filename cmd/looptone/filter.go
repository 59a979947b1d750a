package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"looptone/frame"
	"looptone/frame/exchange"
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
	begin, end time.Duration
}

func (f *filterFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.device, "device", "", "only messages of the device with this `TAG`, once it is known")
	flags.StringVar(&f.address, "address", "", "only messages with this polling address or unique address of 10 hex digits")
	flags.IntVar(&f.command, "command", -1, "only messages with this command number")
	flags.StringVar(&f.kind, "kind", "", "only STX, ACK or BACK")
	flags.BoolVar(&f.damaged, "damage", false, "only damage, noise and unanswered requests")
	flags.StringVar(&f.from, "from", "", "only from this `TIME` on: seconds, or with --started a wall clock time")
	flags.StringVar(&f.to, "to", "", "only up to this `TIME`")
	flags.StringVar(&f.started, "started", "", "wall clock `TIME` at which the capture began, for instance 2031-03-01T03:10:07+01:00")
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
	if f.started != "" && f.from == "" && f.to == "" {
		return errors.New("--started goes with --from or --to")
	}
	if f.begin, err = f.moment("from", f.from); err != nil {
		return err
	}
	if f.end, err = f.moment("to", f.to); err != nil {
		return err
	}
	if f.from != "" && f.to != "" && f.end < f.begin {
		return fmt.Errorf("--to %s lies before --from %s", f.to, f.from)
	}
	return nil
}

// moment is a time on the command line as a time since the capture began.
func (f *filterFlags) moment(flag, text string) (time.Duration, error) {
	if text == "" {
		return 0, nil
	}
	if seconds, err := strconv.ParseFloat(text, 64); err == nil {
		return time.Duration(seconds * float64(time.Second)), nil
	}
	if f.started == "" {
		return 0, fmt.Errorf("--%s %q is no number of seconds: a wall clock time goes with --started", flag, text)
	}
	start, err := time.Parse(time.RFC3339Nano, f.started)
	if err != nil {
		return 0, fmt.Errorf("--started %q is no time, want for instance 2031-03-01T03:10:07+01:00", f.started)
	}
	at, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return 0, fmt.Errorf("--%s %q is no time, want seconds or for instance 2031-03-01T03:10:07+01:00", flag, text)
	}
	return at.Sub(start), nil
}

// any reports whether anything is filtered at all.
func (f *filterFlags) any() bool {
	return f.device != "" || f.address != "" || f.command >= 0 || f.kind != "" || f.damaged || f.from != "" || f.to != ""
}

// passes reports whether m is to be shown.
func (f *filterFlags) passes(m *exchange.Message) bool {
	switch isFrame := m.Unanswered == 0 && m.Outcome == frame.Whole; {
	case f.damaged && isFrame:
		return false
	case f.kind != "" && (m.Outcome != frame.Whole || m.Frame.Kind.String() != f.kind):
		return false
	case f.command >= 0 && (!isFrame && m.Unanswered == 0 || int(m.Frame.Number()) != f.command):
		return false
	case f.device != "" && (m.Device == nil || m.Device.Tag != f.device && m.Device.LongTag != f.device):
		return false
	case f.address != "" && !f.meets(m):
		return false
	}
	return f.passesTime(m.Span)
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
func (f *filterFlags) passesTime(at exchange.Span) bool {
	return (f.from == "" || at.Known && at.Start >= f.begin) && (f.to == "" || at.Known && at.Start <= f.end)
}
