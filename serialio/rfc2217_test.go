package serialio

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"looptone/frame"
)

// A server is a device server as RFC 2217 describes it, but for what its fields change.
// It reads telnet by a loop of its own.
type server struct {
	refuses byte            // an option; 0 of binary transmission is given as 200
	silent  string          // commands that it does not answer, as "01 05"
	sets    map[byte][]byte // what it sets instead of what is asked for
	states  []byte          // modem states that it tells at once
	keeps   bool            // what it thinks of binary transmission to itself
	mute    bool            // it is no telnet server at all

	conn net.Conn
	out  chan []byte
	got  chan string // "05 0c" is a command, "= 01 02" are characters
}

func (s *server) serve(conn net.Conn) {
	s.conn, s.out, s.got = conn, make(chan []byte, 100), make(chan string, 1000)
	go func() {
		for b := range s.out {
			s.conn.Write(b)
		}
	}()
	go func() {
		defer close(s.got)
		defer close(s.out)
		s.read()
	}()
}

func (s *server) read() {
	buf := make([]byte, 1)
	next := func() (byte, bool) {
		_, err := io.ReadFull(s.conn, buf)
		return buf[0], err == nil
	}
	for {
		c, ok := next()
		if !ok {
			return
		}
		if c != 0xff {
			s.got <- fmt.Sprintf("= %02x", c)
			continue
		}
		switch c, _ = next(); c {
		case 0xff:
			s.got <- "= ff"
		case 0xfa:
			var sub []byte
			for c, ok = next(); ok; c, ok = next() {
				if c == 0xff {
					if c, _ = next(); c == 0xf0 {
						break
					}
				}
				sub = append(sub, c)
			}
			s.got <- fmt.Sprintf("% x", sub[1:])
			s.answer(sub[1:])
		default:
			option, _ := next()
			s.agree(c, option)
		}
	}
}

func (s *server) agree(verb, option byte) {
	answers := map[byte]byte{251: 253, 253: 251}
	refused := s.refuses == option && option != 0 || s.refuses == 200 && option == 0
	switch answer, ok := answers[verb]; {
	case !ok || s.mute || s.keeps && option == 0:
	case refused:
		s.out <- []byte{0xff, answer + 1, option}
	default:
		s.out <- []byte{0xff, answer, option}
		if option == 44 {
			for _, state := range s.states {
				s.tell(107, state)
			}
		}
	}
}

func (s *server) answer(sub []byte) {
	if strings.Contains(s.silent, fmt.Sprintf("%02x", sub[0])) {
		return
	}
	value := sub[1:]
	if other, ok := s.sets[sub[0]]; ok {
		value = other
	}
	s.tell(sub[0]+100, value...)
}

func (s *server) tell(command byte, value ...byte) {
	b := []byte{0xff, 0xfa, 44, command}
	for _, c := range value {
		if b = append(b, c); c == 0xff {
			b = append(b, c)
		}
	}
	s.out <- append(b, 0xff, 0xf0)
}

// received are the next n things that came in.
func (s *server) received(n int) (all []string) {
	for range n {
		all = append(all, <-s.got)
	}
	return all
}

// set connects a client to s, and gives why its port could not be set.
func (s *server) set(t *testing.T, ctx context.Context, settings Settings) (*deviceServer, error) {
	t.Helper()
	near, far := net.Pipe()
	s.serve(far)
	d := newDeviceServer(near)
	t.Cleanup(func() { near.Close(); far.Close() })
	return d, d.set(ctx, settings)
}

// standard are the commands for the settings of the standard, behind RTS and DTR.
var standard = []string{"01 00 00 04 b0", "02 08", "03 02", "04 01", "05 01", "0a 00", "0b ff", "0c 01"}

func TestAServerIsSet(t *testing.T) {
	tests := []struct {
		name     string
		settings Settings
		want     []string
	}{
		{"as the standard has it", Settings{}, standard},
		{"another rate, even", Settings{Baud: 0x0ff0ff, Parity: Even},
			[]string{"01 00 0f f0 ff", "02 08", "03 03", "04 01"}},
		{"no parity", Settings{Parity: NoParity}, []string{"01 00 00 04 b0", "02 08", "03 01"}},
		{"keyed", Settings{Modem: Modem{RTS: RTSKeys}}, append([]string{"05 0c", "05 08"}, standard...)},
		{"keyed, inverted, DTR off", Settings{Modem: Modem{RTS: RTSKeys, DTROff: true, Invert: RTS | DTR}}, []string{"05 0b", "05 08"}},
		{"RTS off, DTR off", Settings{Modem: Modem{RTS: RTSOff, DTROff: true}}, []string{"05 0c", "05 09"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				var s server
				d, err := s.set(t, t.Context(), tt.settings)
				if err != nil {
					t.Fatal(err)
				}
				if got := s.received(len(tt.want)); !slices.Equal(got, tt.want) {
					t.Errorf("got %q, want %q", got, tt.want)
				}
				d.Close()
			})
		})
	}
}

func TestServersThatCannotBeUsed(t *testing.T) {
	tests := []struct {
		name  string
		s     server
		modem Modem
		want  string
		after time.Duration
	}{
		{"option 44 refused", server{refuses: 44}, Modem{}, ErrNotSettable.Error(), 0},
		{"binary refused", server{refuses: 200}, Modem{}, ErrNotBinary.Error(), 0},
		{"another rate", server{sets: map[byte][]byte{1: {0, 0, 0x25, 0x80}}}, Modem{}, "the server has set another baud rate (got 9600, want 1200)", 0},
		{"seven bits", server{sets: map[byte][]byte{2: {7}}}, Modem{}, "the server has set another number of data bits (got 7, want 8)", 0},
		{"no parity", server{sets: map[byte][]byte{3: {1}}}, Modem{}, "the server has set another parity (got 1, want 2)", 0},
		{"two stop bits", server{sets: map[byte][]byte{4: {2}}}, Modem{}, "the server has set another number of stop bits (got 2, want 1)", 0},
		{"no telnet", server{mute: true}, Modem{}, "no answer to RFC 2217 within 5s", confirmWithin},
		{"binary neither agreed nor refused", server{keeps: true}, Modem{}, "the server has not confirmed within 5s: binary transmission", confirmWithin},
		{"silent", server{silent: "01 03"}, Modem{}, "the server has not confirmed within 5s: baud rate, parity", confirmWithin},
		{"an answer of another length", server{sets: map[byte][]byte{4: {1, 1}}}, Modem{}, "the server has not confirmed within 5s: number of stop bits", confirmWithin},
		{"carrier untold", server{}, Modem{Carrier: DCD}, "the server has not confirmed within 5s: the modem lines", confirmWithin},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				began := time.Now()
				_, err := tt.s.set(t, t.Context(), Settings{Modem: tt.modem})
				if n := len(tt.s.got); n > 0 && (tt.s.mute || tt.s.refuses == 44) {
					t.Errorf("it was sent %d commands that it has not agreed to", n)
				}
				if took := time.Since(began); err == nil || err.Error() != tt.want || took.Truncate(time.Second) != tt.after {
					t.Errorf("got %v after %v, want %s after %v", err, took, tt.want, tt.after)
				}
			})
		})
	}
}

// Without modem lines nobody answers to RTS and DTR, as ser2net does for a pty.
func TestAServerWithoutModemLinesIsSet(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := server{silent: "05"}
		if _, err := s.set(t, t.Context(), Settings{Modem: Modem{RTS: RTSKeys}}); err != nil {
			t.Error(err)
		}
	})
}

func TestSettingAServerEndsWithItsContext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), time.Second)
		defer cancel()
		s := server{silent: "04"}
		if _, err := s.set(t, ctx, Settings{}); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v", err)
		}
	})
}

func TestAServerThatGoesWhileItIsSet(t *testing.T) {
	near, far := net.Pipe()
	far.Close()
	defer near.Close()
	if err := newDeviceServer(near).set(t.Context(), Settings{}); err == nil || errors.Is(err, errUnconfirmed) {
		t.Errorf("got %v", err)
	}
}

// Over TCP, with the sentence and with characters of all values in both directions.
func TestDialRFC2217(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	dial := func(s *server) (*Port, error) {
		go func() {
			if conn, err := l.Accept(); err == nil {
				s.serve(conn)
			}
		}()
		return DialRFC2217(t.Context(), l.Addr().String(), Settings{})
	}
	refusing := server{refuses: 44}
	_, err = dial(&refusing)
	want := "dial " + l.Addr().String() + ": the server does not let its port be set (telnet option 44, RFC 2217)"
	if !errors.Is(err, ErrNotSettable) || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
	for range refusing.got { // until it is gone
	}

	var s server
	p, err := dial(&s)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	s.received(len(standard))
	if err := p.Send(t.Context(), overdue, 0, 0, allValues()); err != nil {
		t.Fatal(err)
	}
	for i, got := range s.received(256) {
		if want := fmt.Sprintf("= %02x", i); got != want {
			t.Fatalf("character %d: got %s, want %s", i, got, want)
		}
	}
	s.out <- appendEscaped(nil, allValues())
	if got := collect(t, p, 256); !bytes.Equal(got, allValues()) {
		t.Errorf("got % x", got)
	}
	s.conn.Close()
	drain(t, p)
	wantGone(t, p)
}

// RTS stands around a message, which goes in one piece, at its times.
func TestAServerIsKeyed(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var s server
		settings := Settings{Modem: Modem{RTS: RTSKeys, Hold: 20 * time.Millisecond}}
		d, err := s.set(t, t.Context(), settings)
		if err != nil {
			t.Fatal(err)
		}
		s.received(2 + len(standard))
		p := newPort("server", d, settings)
		defer p.Close()
		at := time.Now().Add(time.Second)
		go p.Send(t.Context(), at, 5*time.Millisecond, 0, []byte{0xff, 0xff, 0x02})
		var when []time.Duration
		var got []string
		for range 5 {
			got = append(got, <-s.got)
			when = append(when, time.Since(at))
		}
		if want := []string{"05 0b", "= ff", "= ff", "= 02", "05 0c"}; !slices.Equal(got, want) {
			t.Errorf("got %q, want %q", got, want)
		}
		off := settings.Characters(3) + settings.Modem.Hold
		if when[0] != -5*time.Millisecond || when[1] != 0 || when[3] != 0 || when[4] != off {
			t.Errorf("at %v, want -5ms, 0, 0, 0, %v", when, off)
		}
	})
}

// A message that is given up leaves nothing torn: RTS goes off, the server is to drop
// the rest, and what is sent next arrives whole.
func TestAMessageToAServerIsGivenUp(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var s server
		settings := Settings{Modem: Modem{RTS: RTSKeys}}
		d, err := s.set(t, t.Context(), settings)
		if err != nil {
			t.Fatal(err)
		}
		s.received(2 + len(standard))
		p := newPort("server", d, settings)
		defer p.Close()
		ctx, cancel := context.WithTimeout(t.Context(), 30*time.Millisecond)
		defer cancel()
		if err := p.Send(ctx, time.Now(), 0, 0, make([]byte, 100)); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v", err)
		}
		if got := s.received(103); got[0] != "05 0b" || got[101] != "0c 02" || got[102] != "05 0c" {
			t.Errorf("got %q … %q, want RTS on, characters, unsent ones dropped, RTS off", got[0], got[101:])
		}
	})
}

// A deadline tears a doubled IAC: the rest goes first, whatever is sent next.
func TestATornCharacterIsMendedFirst(t *testing.T) {
	for name, next := range map[string]struct {
		write func(*deviceServer) error
		want  string
	}{
		"characters": {func(d *deviceServer) error { _, err := d.Write([]byte{7}); return err }, "ff 07"},
		"a command":  {func(d *deviceServer) error { return d.SetRTS(false) }, "ff ff fa 2c 05 0c ff f0"},
	} {
		synctest.Test(t, func(t *testing.T) {
			near, far := net.Pipe()
			defer near.Close()
			defer far.Close()
			d := newDeviceServer(near)
			d.SetWriteDeadline(time.Now().Add(time.Second))
			read := make(chan []byte)
			go func() {
				b := make([]byte, 2)
				io.ReadFull(far, b)
				read <- b
			}()
			n, err := d.Write([]byte{1, 0xff, 2})
			if got := <-read; n != 1 || err == nil || !bytes.Equal(got, []byte{1, 0xff}) {
				t.Fatalf("%s: wrote %d characters as % x, %v", name, n, got, err)
			}
			d.SetWriteDeadline(time.Time{})
			go func() {
				b := make([]byte, len(hexBytes(t, next.want)))
				io.ReadFull(far, b)
				read <- b
			}()
			if err := next.write(d); err != nil {
				t.Error(err)
			}
			if got := <-read; !bytes.Equal(got, hexBytes(t, next.want)) {
				t.Errorf("%s: got % x, want %s", name, got, next.want)
			}
		})
	}
}

// A command goes although the deadline of characters is over, and one that nobody reads
// does not hold up for ever.
func TestCommandsHaveADeadlineOfTheirOwn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		defer near.Close()
		defer far.Close()
		d := newDeviceServer(near)
		d.SetWriteDeadline(time.Unix(1, 0))
		began := time.Now()
		if err := d.SetRTS(true); err == nil || time.Since(began) != commandWithin {
			t.Errorf("nobody reads: %v after %v", err, time.Since(began))
		}
		read := make(chan []byte, 1)
		go func() { b := make([]byte, 14); io.ReadFull(far, b); read <- b }()
		if err := d.SetRTS(false); err != nil {
			t.Error(err)
		}
		if got, want := <-read, hexBytes(t, "ff fa 2c 05 0b ff f0 ff fa 2c 05 0c ff f0"); !bytes.Equal(got, want) {
			t.Errorf("got % x, want % x", got, want)
		}
		began = time.Now()
		if _, err := d.Write([]byte{1}); !errors.Is(err, os.ErrDeadlineExceeded) || time.Since(began) > 0 {
			t.Errorf("characters behind it: %v after %v", err, time.Since(began))
		}
	})
}

// A message is given up while a command is on its way, which still arrives.
func TestACommandIsNotGivenUpWithItsMessage(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		near, far := net.Pipe()
		defer near.Close()
		defer far.Close()
		d := newDeviceServer(near)
		commanded := make(chan error)
		go func() { commanded <- d.SetRTS(false) }()
		synctest.Wait()
		d.SetWriteDeadline(time.Unix(1, 0))
		time.Sleep(commandWithin / 2)
		if _, err := io.ReadFull(far, make([]byte, 7)); err != nil {
			t.Fatal(err)
		}
		if err := <-commanded; err != nil {
			t.Error(err)
		}
	})
}

// What the server tells of its lines opens and shuts the gate.
func TestAServersCarrierIsTheGate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := server{states: []byte{0x10}} // CTS is on, DCD is not
		settings := Settings{Modem: Modem{Carrier: DCD}}
		d, err := s.set(t, t.Context(), settings)
		if err != nil {
			t.Fatal(err)
		}
		if on, err := d.Inputs(); on != CTS || err != nil {
			t.Errorf("inputs %b, %v", on, err)
		}
		p := newPort("server", d, settings)
		defer p.Close()
		s.out <- []byte("lost")
		time.Sleep(100 * time.Millisecond)
		s.tell(107, 0x88)
		time.Sleep(100 * time.Millisecond)
		s.out <- []byte("kept")
		time.Sleep(100 * time.Millisecond)
		s.tell(107, 0x08)
		time.Sleep(100 * time.Millisecond)
		s.out <- []byte("late")
		time.Sleep(100 * time.Millisecond)
		var got []frame.Arrival
		for len(p.Arrivals()) > 0 {
			got = append(got, <-p.Arrivals())
		}
		if len(got) != 3 || got[0].Carrier != 1 || string(got[1].Chars) != "kept" || got[2].Carrier != -1 || p.Dropped() != 8 {
			t.Errorf("got %+v, %d dropped; want carrier on, kept, carrier off, 8 dropped", got, p.Dropped())
		}
	})
}
