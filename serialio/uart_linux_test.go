package serialio

import (
	"errors"
	"io"
	"slices"
	"syscall"
	"testing"

	"github.com/creack/pty"
	"go.bug.st/serial"
	"golang.org/x/sys/unix"
)

// library is the serial library's end of a UART, which notes what is done to it.
type library struct {
	deeds  []string
	writes []func(b []byte) (int, error) // what they do, one after the other
	bits   serial.ModemStatusBits
	drains []error
	err    error // of the modem lines
}

func (l *library) do(what string) error     { l.deeds = append(l.deeds, what); return nil }
func (l *library) Read([]byte) (int, error) { return 0, io.EOF }
func (l *library) Close() error             { return l.do("close") }
func (l *library) Drain() error {
	err := l.drains[0]
	l.drains = l.drains[1:]
	return err
}
func (l *library) ResetInputBuffer() error  { return l.do("drop input") }
func (l *library) ResetOutputBuffer() error { return l.do("drop output") }
func (l *library) SetRTS(on bool) error     { l.do("RTS " + onOff(on)); return l.err }
func (l *library) SetDTR(on bool) error     { l.do("DTR " + onOff(on)); return l.err }
func (l *library) Write(b []byte) (int, error) {
	write := l.writes[0]
	l.writes = l.writes[1:]
	return write(b)
}

func (l *library) GetModemStatusBits() (*serial.ModemStatusBits, error) { return &l.bits, l.err }

// swallowing are input modes with which marks or characters are lost.
const swallowing = unix.IGNPAR | unix.IGNBRK | unix.BRKINT | unix.ISTRIP

// ofTTY is a UART whose tty is a pty: it has no parity, but keeps what is set, and
// doubles FF as any tty does.
func ofTTY(t *testing.T, d device, s Settings) (u *uart, theirs *claim) {
	t.Helper()
	ours, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { ours.Close(); slave.Close() })
	c, err := newClaim(slave.Name())
	if err != nil {
		t.Fatal(err)
	}
	set, err := unix.IoctlGetTermios(c.fd, unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	set.Iflag |= swallowing // as somebody else may have left it
	if err := unix.IoctlSetTermios(c.fd, unix.TCSETS, set); err != nil {
		t.Fatal(err)
	}
	u, err = newUART(d, s, c)
	if err != nil {
		c.release()
		t.Fatal(err)
	}
	return u, c
}

func TestUARTIsSetUpBeforeItIsRead(t *testing.T) {
	for _, tt := range []struct {
		modem Modem
		want  []string
	}{
		{Modem{}, []string{"drop input"}},
		{keying, []string{"RTS off", "DTR on", "drop input"}},
	} {
		l := new(library)
		u, _ := ofTTY(t, l, Settings{Modem: tt.modem})
		if !slices.Equal(l.deeds, tt.want) {
			t.Errorf("%+v: got %q, want %q", tt.modem, l.deeds, tt.want)
		}
		u.Close()
	}
}

func TestUARTHasItsTTYMarkErrors(t *testing.T) {
	u, c := ofTTY(t, new(library), Settings{})
	defer u.Close()
	set, err := unix.IoctlGetTermios(c.fd, unix.TCGETS)
	if err != nil {
		t.Fatal(err)
	}
	if on := uint32(unix.INPCK | unix.PARMRK); set.Iflag&on != on {
		t.Errorf("input modes %o, want INPCK and PARMRK", set.Iflag)
	}
	if set.Iflag&swallowing != 0 {
		t.Errorf("input modes %o, want neither IGNPAR, IGNBRK, BRKINT nor ISTRIP", set.Iflag)
	}
}

// markedPTY is a pty that marks errors as a UART's tty would, though it never has any.
type markedPTY struct{ line }

func (markedPTY) marksErrors() bool { return true }

func TestFFPassesATTYThatMarksErrors(t *testing.T) {
	ours, slave, err := pty.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer ours.Close()
	defer slave.Close()
	l, err := openSlave(slave.Name(), Settings{})
	if err != nil {
		t.Fatal(err)
	}
	if ok, err := markErrors(int(slave.Fd())); !ok || err != nil {
		t.Fatal(ok, err)
	}
	p := newPort("marked", markedPTY{l}, Settings{})
	defer p.Close()
	want := append(allValues(), 0xff, 0xff, 0x00)
	if _, err := ours.Write(want); err != nil {
		t.Fatal(err)
	}
	if got := collect(t, p, len(want)); !slices.Equal(got, want) {
		t.Errorf("got % x, want % x", got, want)
	}
	if !p.SeesParity() {
		t.Error("sees no parity")
	}
	none := newPort("no parity", markedPTY{newRecorder()}, Settings{Parity: NoParity})
	defer none.Close()
	if none.SeesParity() {
		t.Error("sees parity where there is none")
	}
}

func TestParityIsNotSeen(t *testing.T) {
	ours, theirs := pair(t)
	client, server := sockets(t)
	for name, p := range map[string]*Port{"pty made here": ours, "pty": theirs, "client": client, "server": server} {
		if p.SeesParity() {
			t.Errorf("%s sees parity", name)
		}
	}
}

func TestUARTTellsItsInputs(t *testing.T) {
	l := new(library)
	u, _ := ofTTY(t, l, Settings{})
	defer u.Close()
	for _, tt := range []struct {
		bits serial.ModemStatusBits
		want Lines
	}{
		{serial.ModemStatusBits{}, 0},
		{serial.ModemStatusBits{DCD: true}, DCD},
		{serial.ModemStatusBits{CTS: true}, CTS},
		{serial.ModemStatusBits{DSR: true}, DSR},
		{serial.ModemStatusBits{RI: true}, RI},
		{serial.ModemStatusBits{DCD: true, CTS: true, DSR: true, RI: true}, DCD | CTS | DSR | RI},
	} {
		l.bits = tt.bits
		if got, err := u.Inputs(); got != tt.want || err != nil {
			t.Errorf("%+v: got %b, %v, want %b", tt.bits, got, err, tt.want)
		}
	}
}

func TestUARTWritesAllOfAMessage(t *testing.T) {
	var got []byte
	some := func(n int, err error) func([]byte) (int, error) {
		return func(b []byte) (int, error) { got = append(got, b[:n]...); return n, err }
	}
	tests := []struct {
		name   string
		writes []func([]byte) (int, error)
		n      int
		want   error
	}{
		{"at once", []func([]byte) (int, error){some(6, nil)}, 6, nil},
		{"cut short", []func([]byte) (int, error){some(2, nil), some(0, syscall.EINTR), some(4, nil)}, 6, nil},
		{"unplugged", []func([]byte) (int, error){some(2, nil), some(0, syscall.ENODEV)}, 2, ErrGone},
		{"unplugged with EIO", []func([]byte) (int, error){some(0, syscall.EIO)}, 0, syscall.EIO},
		{"goes nowhere", []func([]byte) (int, error){some(0, nil)}, 0, io.ErrShortWrite},
	}
	for _, tt := range tests {
		l := &library{writes: tt.writes}
		u, _ := ofTTY(t, l, Settings{})
		got = nil
		n, err := u.Write([]byte("abcdef"))
		if n != tt.n || string(got) != "abcdef"[:tt.n] || !errors.Is(err, tt.want) {
			t.Errorf("%s: got %d, %q, %v, want %d, %v", tt.name, n, got, err, tt.n, tt.want)
		}
		u.Close()
	}
}

func TestUARTThatIsClosedIsLeftAlone(t *testing.T) {
	l := new(library)
	u, _ := ofTTY(t, l, Settings{})
	l.deeds = nil
	if err := u.Close(); err != nil {
		t.Fatal(err)
	}
	_, err := u.Inputs()
	for name, err := range map[string]error{"RTS": u.SetRTS(true), "DTR": u.SetDTR(false), "inputs": err} {
		if !errors.Is(err, ErrClosed) {
			t.Errorf("%s: got %v, want %v", name, err, ErrClosed)
		}
	}
	if want := []string{"close"}; !slices.Equal(l.deeds, want) {
		t.Errorf("got %q, want %q", l.deeds, want)
	}
}

func TestModemLinesOfAnAdapterThatWasUnplugged(t *testing.T) {
	for _, gone := range []error{syscall.ENODEV, syscall.ENXIO} {
		l := new(library)
		u, _ := ofTTY(t, l, Settings{})
		l.err = gone
		_, err := u.Inputs()
		if !errors.Is(err, ErrGone) || !errors.Is(u.SetRTS(true), ErrGone) {
			t.Errorf("%v: got %v", gone, err)
		}
		u.Close()
	}
}

func TestUARTDiscardsWhatHasNotLeft(t *testing.T) {
	l := new(library)
	u, _ := ofTTY(t, l, Settings{})
	defer u.Close()
	l.deeds = nil
	if err := u.Discard(); err != nil || !slices.Equal(l.deeds, []string{"drop output"}) {
		t.Errorf("got %q, %v", l.deeds, err)
	}
}

func TestUARTDrains(t *testing.T) {
	for _, tt := range []struct {
		drains []error
		want   error
	}{
		{[]error{nil}, nil},
		{[]error{syscall.EINTR, syscall.EINTR, nil}, nil},
		{[]error{syscall.ENODEV}, ErrGone},
	} {
		l := &library{drains: slices.Clone(tt.drains)}
		u, _ := ofTTY(t, l, Settings{})
		if err := u.Drain(); !errors.Is(err, tt.want) || len(l.drains) > 0 {
			t.Errorf("%v: got %v, want %v, %d drains left", tt.drains, err, tt.want, len(l.drains))
		}
		u.Close()
	}
}

// A uart is what the sender and the gate look for.
var (
	_ clocked    = (*uart)(nil)
	_ drained    = (*uart)(nil)
	_ modemLines = (*uart)(nil)
	_ marking    = (*uart)(nil)
)
