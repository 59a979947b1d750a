package serialio

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"net"
	"os"
	"slices"
	"strings"
	"time"
)

// The option of telnet by which a port is set, its commands, and what the server adds
// to a command to answer it.
//
// Source: RFC 2217.
const (
	optionComPort = 44

	setBaudRate       = 1 // a big-endian 32-bit number
	setDataSize       = 2
	setParity         = 3
	setStopSize       = 4
	setControl        = 5
	notifyModemState  = 7
	setLineStateMask  = 10
	setModemStateMask = 11
	purgeData         = 12
	comPortAnswer     = 100

	parityNone, parityOdd, parityEven = 1, 2, 3
	oneStopBit                        = 1
	noFlowControl                     = 1
	dtrOn, dtrOff, rtsOn, rtsOff      = 8, 9, 11, 12
	purgeReceived, purgeUnsent        = 1, 2

	stateCTS, stateDSR, stateRI, stateDCD = 0x10, 0x20, 0x40, 0x80
)

// confirmWithin is how long a server may take until its port is set.
//
// Source: common practice.
const confirmWithin = 5 * time.Second

// Why a device server cannot be used.
var (
	ErrNotSettable = errors.New("the server does not let its port be set (telnet option 44, RFC 2217)")
	ErrNotBinary   = errors.New("the server does not pass all characters (telnet option 0, RFC 856)")
)

// DialRFC2217 connects to a serial port of a device server, host:port, and sets it. It
// returns when the server has confirmed all settings, with an error when it refuses,
// sets something else, or has not answered after five seconds. What had come in before
// is dropped. An error is an [*OpError].
//
// Of modem lines only that is known which the server tells when it changes. Where the
// server's port has none, RTS and DTR do nothing, and no carrier is ever told. Everything
// is later by the network than on a port of this machine, the end of a message too: what
// that takes belongs into [Modem.Hold].
func DialRFC2217(ctx context.Context, addr string, s Settings) (*Port, error) {
	d, err := dialDeviceServer(ctx, addr, s)
	if err != nil {
		return nil, &OpError{"dial", addr, cause(err)}
	}
	return newPort(addr, d, s), nil
}

func dialDeviceServer(ctx context.Context, addr string, s Settings) (*deviceServer, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	conn, err := new(net.Dialer).DialContext(ctx, "tcp", addr)
	if err != nil {
		return nil, err
	}
	d := newDeviceServer(conn)
	if err := d.set(ctx, s); err != nil {
		conn.Close()
		return nil, err
	}
	return d, nil
}

var errUnconfirmed = errors.New("not confirmed")

// set negotiates until everything is confirmed.
func (d *deviceServer) set(ctx context.Context, s Settings) error {
	ctx, cancel := context.WithTimeoutCause(ctx, confirmWithin, errUnconfirmed)
	defer cancel()
	stop := context.AfterFunc(ctx, func() { d.conn.SetReadDeadline(time.Unix(1, 0)) })
	w := newWishes(s)
	err := d.confirm(w)
	if !stop() && ctx.Err() != nil && errors.Is(err, os.ErrDeadlineExceeded) {
		if err = context.Cause(ctx); err == errUnconfirmed {
			err = w.unconfirmed(&d.telnet)
		}
	}
	return err
}

func (d *deviceServer) confirm(w *wishes) error {
	d.hear = w.hear
	defer func() { d.hear = nil }()
	d.telnet.ask()
	if err := d.command(d.telnet.take()); err != nil {
		return err
	}
	for sent := false; ; {
		if _, err := d.receive(); err != nil {
			return err
		}
		switch t := &d.telnet; {
		case t.us[optionComPort] == refused:
			return ErrNotSettable
		case t.us[optionBinary] == refused, t.them[optionBinary] == refused:
			return ErrNotBinary
		case w.err != nil:
			return w.err
		case t.us[optionComPort] == agreed && !sent:
			sent = true
			if err := d.begin(w); err != nil {
				return err
			}
		}
		if sent && d.telnet.passesAll() && w.fulfilled(d) {
			return nil
		}
	}
}

// begin asks a server that lets its port be set for all that is wished: RTS and DTR
// first, as they may hold a carrier on the loop. Nobody waits for the answer to those:
// where there are no modem lines there is none.
func (d *deviceServer) begin(w *wishes) error {
	if err := settle(d, w.modem); err != nil {
		return err
	}
	return d.command(w.commands())
}

// passesAll reports whether characters pass unchanged in both directions.
func (t *telnet) passesAll() bool {
	return t.us[optionBinary] == agreed && t.them[optionBinary] == agreed
}

// wishes are what a server is to confirm.
type wishes struct {
	left  []wish
	modem Modem // whose carrier the server has to tell, if it is to be heeded
	err   error // something else was set
}

// A wish is one setting: its command and value.
type wish struct {
	name    string
	command byte
	value   []byte
}

func newWishes(s Settings) *wishes {
	parity := [...]byte{Odd: parityOdd, Even: parityEven, NoParity: parityNone}
	return &wishes{modem: s.Modem, left: []wish{
		{"baud rate", setBaudRate, binary.BigEndian.AppendUint32(nil, uint32(s.baud()))},
		{"number of data bits", setDataSize, []byte{8}},
		{"parity", setParity, []byte{parity[s.Parity]}},
		{"number of stop bits", setStopSize, []byte{oneStopBit}},
	}}
}

// commands asks for all wishes, and for what nobody waits for.
func (w *wishes) commands() (b []byte) {
	for _, x := range w.left {
		b = appendComPort(b, x.command, x.value...)
	}
	b = appendComPort(b, setControl, noFlowControl)
	b = appendComPort(b, setLineStateMask, 0)
	b = appendComPort(b, setModemStateMask, 0xff)
	return appendComPort(b, purgeData, purgeReceived)
}

// hear takes note of an answer.
func (w *wishes) hear(command byte, value []byte) {
	i := slices.IndexFunc(w.left, func(x wish) bool {
		return command == x.command+comPortAnswer && len(value) == len(x.value)
	})
	switch {
	case i < 0 || w.err != nil:
	case slices.Equal(value, w.left[i].value):
		w.left = slices.Delete(w.left, i, i+1)
	default:
		w.err = fmt.Errorf("the server has set another %s (got %s, want %s)", w.left[i].name, number(value), number(w.left[i].value))
	}
}

// number is a value as people write it.
func number(value []byte) string {
	n := 0
	for _, b := range value {
		n = n<<8 | int(b)
	}
	return fmt.Sprint(n)
}

// fulfilled reports whether nothing is left to be confirmed.
func (w *wishes) fulfilled(d *deviceServer) bool {
	_, err := d.Inputs()
	return len(w.left) == 0 && (w.modem.Carrier == 0 || err == nil)
}

// unconfirmed says what the server has not confirmed in time.
func (w *wishes) unconfirmed(t *telnet) error {
	var names []string
	switch {
	case t.us[optionComPort] != agreed:
		return fmt.Errorf("no answer to RFC 2217 within %v", confirmWithin)
	case !t.passesAll():
		names = append(names, "binary transmission")
	}
	for _, x := range w.left {
		names = append(names, x.name)
	}
	if len(names) == 0 {
		names = append(names, "the modem lines")
	}
	return fmt.Errorf("the server has not confirmed within %v: %s", confirmWithin, strings.Join(names, ", "))
}
