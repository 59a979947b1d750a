package serialio

import (
	"errors"
	"net"
	"os"
	"sync"
	"sync/atomic"
	"time"
)

// errUntold: nobody knows how the inputs are.
var errUntold = errors.New("the server has not told its modem lines")

// A deviceServer is a [line] at the other end of a network, whose hardware clocks the
// characters. A reader, a writer and who keys the modem may work at the same time.
type deviceServer struct {
	conn   net.Conn
	telnet telnet // the reader's, as are raw, chars and hear
	raw    [4096]byte
	chars  []byte                           // that came in and were not read yet
	hear   func(command byte, value []byte) // is told too what the server says of its port; may be nil
	inputs atomic.Int32                     // as the server has told them last; -1: it has not

	writing sync.Mutex
	owed    []byte // the rest of what a deadline has torn; it goes first

	limits     sync.Mutex
	deadline   time.Time // of characters
	commanding bool      // what is being written is a command, which has a deadline of its own
}

func newDeviceServer(conn net.Conn) *deviceServer {
	d := &deviceServer{conn: conn}
	d.inputs.Store(-1)
	return d
}

func (d *deviceServer) Close() error { return d.conn.Close() }

func (d *deviceServer) Read(b []byte) (int, error) {
	for len(d.chars) == 0 {
		chars, err := d.receive()
		if err != nil {
			return 0, err
		}
		d.chars = chars
	}
	n := copy(b, d.chars)
	d.chars = d.chars[n:]
	return n, nil
}

// receive reads once, answers what is due, and gives the characters that came, which
// are valid until the next call.
func (d *deviceServer) receive() ([]byte, error) {
	n, err := d.conn.Read(d.raw[:])
	if err != nil {
		return nil, err
	}
	chars := d.telnet.feed(d.chars[:0], d.raw[:n], d.told)
	if answer := d.telnet.take(); len(answer) > 0 {
		return chars, d.command(answer)
	}
	return chars, nil
}

// told is what the server says of its port. What it says of flow control is not heeded:
// a message is shorter than the buffer of any server.
func (d *deviceServer) told(command byte, value []byte) {
	if command == notifyModemState+comPortAnswer && len(value) == 1 {
		d.inputs.Store(int32(inputsOf(value[0])))
	}
	if d.hear != nil {
		d.hear(command, value)
	}
}

// inputsOf are the lines that are on in a modem state of RFC 2217.
func inputsOf(state byte) (lines Lines) {
	for _, x := range [...]struct {
		bit  byte
		line Lines
	}{{stateDCD, DCD}, {stateCTS, CTS}, {stateDSR, DSR}, {stateRI, RI}} {
		if state&x.bit != 0 {
			lines |= x.line
		}
	}
	return lines
}

// Inputs are those that the server has told last.
func (d *deviceServer) Inputs() (Lines, error) {
	lines := d.inputs.Load()
	if lines < 0 {
		return 0, errUntold
	}
	return Lines(lines), nil
}

// SetRTS does not wait for the server's answer: what is sent behind it, the server does
// behind it.
func (d *deviceServer) SetRTS(on bool) error { return d.control(on, rtsOn, rtsOff) }

// SetDTR is as SetRTS.
func (d *deviceServer) SetDTR(on bool) error { return d.control(on, dtrOn, dtrOff) }

func (d *deviceServer) control(on bool, yes, no byte) error {
	if !on {
		yes = no
	}
	return d.command(appendComPort(nil, setControl, yes))
}

// Drain knows nothing of the server's buffer.
func (d *deviceServer) Drain() error { return nil }

// Discard has the server drop what has not left yet.
func (d *deviceServer) Discard() error {
	return d.command(appendComPort(nil, purgeData, purgeUnsent))
}

// Write sends characters in one piece.
func (d *deviceServer) Write(chars []byte) (int, error) {
	d.writing.Lock()
	defer d.writing.Unlock()
	if err := d.pay(); err != nil {
		return 0, err
	}
	escaped := appendEscaped(nil, chars)
	n, err := d.conn.Write(escaped)
	if err == nil {
		return len(chars), nil
	}
	whole, torn := unescapedLen(escaped[:n])
	if torn {
		d.owed = []byte{telnetIAC}
	}
	return whole, err
}

// unescapedLen is how many characters b holds, and whether the last one is torn.
func unescapedLen(b []byte) (n int, torn bool) {
	for _, c := range b {
		torn = c == telnetIAC && !torn
		if !torn {
			n++
		}
	}
	return n, torn
}

// commandWithin is how long a server that reads nothing may hold up a command.
const commandWithin = time.Second

// command sends a command, which is not torn. It has a deadline of its own: behind a
// message that was given up RTS has to go off all the same.
func (d *deviceServer) command(b []byte) error {
	d.writing.Lock()
	defer d.writing.Unlock()
	d.limit(true)
	defer d.limit(false)
	err := d.pay()
	if err == nil || errors.Is(err, os.ErrDeadlineExceeded) {
		d.owed = append(d.owed, b...)
		err = d.pay()
	}
	return err
}

// pay sends what is owed.
func (d *deviceServer) pay() error {
	if len(d.owed) == 0 {
		return nil
	}
	n, err := d.conn.Write(d.owed)
	d.owed = d.owed[n:]
	return err
}

// limit changes between the deadline of commands and that of characters.
func (d *deviceServer) limit(commanding bool) {
	d.limits.Lock()
	defer d.limits.Unlock()
	d.commanding = commanding
	if commanding {
		d.conn.SetWriteDeadline(time.Now().Add(commandWithin))
	} else {
		d.conn.SetWriteDeadline(d.deadline)
	}
}

// SetWriteDeadline is for characters.
func (d *deviceServer) SetWriteDeadline(t time.Time) error {
	d.limits.Lock()
	defer d.limits.Unlock()
	d.deadline = t
	if d.commanding {
		return nil
	}
	return d.conn.SetWriteDeadline(t)
}
