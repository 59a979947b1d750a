package serialio

import (
	"context"
	"net"
)

// Dial connects to a raw TCP port, host:port, behind which nothing can be set: of
// s, only the length of a character and the echo count. An error is an [*OpError].
//
// Characters are not held back to travel together (TCP_NODELAY, which the net
// package sets by itself).
func Dial(ctx context.Context, addr string, s Settings) (*Port, error) {
	conn, err := new(net.Dialer).DialContext(ctx, "tcp", addr)
	if err != nil {
		return nil, &OpError{"dial", addr, cause(err)}
	}
	return newPort(addr, conn, s), nil
}

// A Listener waits for clients on a TCP port.
type Listener struct{ l net.Listener }

// Listen listens on host:port; port 0 takes a free one. An error is an
// [*OpError].
func Listen(addr string) (*Listener, error) {
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, &OpError{"listen on", addr, cause(err)}
	}
	return &Listener{l}, nil
}

// Addr is the address that clients dial.
func (l *Listener) Addr() string { return l.l.Addr().String() }

// Accept waits for the next client, a port named by its address. Behind Close
// the error wraps [ErrClosed].
func (l *Listener) Accept() (*Port, error) {
	conn, err := l.l.Accept()
	if err != nil {
		return nil, &OpError{"accept on", l.Addr(), cause(err)}
	}
	return newPort(conn.RemoteAddr().String(), conn, Settings{}), nil
}

// Close stops waiting. Ports of accepted clients stay open.
func (l *Listener) Close() error { return l.l.Close() }
