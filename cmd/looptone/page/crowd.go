package page

import (
	"net"
	"sync"
	"sync/atomic"
)

// A crowd is a listener that turns away who comes while too many are there.
type crowd struct {
	net.Listener
	there atomic.Int64
}

func newCrowd(l net.Listener) *crowd { return &crowd{Listener: l} }

func (c *crowd) Accept() (net.Conn, error) {
	for {
		conn, err := c.Listener.Accept()
		if err != nil {
			return nil, err
		}
		if c.there.Add(1) <= mostConns {
			return &guest{Conn: conn, crowd: c}, nil
		}
		c.there.Add(-1)
		conn.Close()
	}
}

// A guest is a connection that is counted.
type guest struct {
	net.Conn
	crowd *crowd
	once  sync.Once
}

func (g *guest) Close() error {
	g.once.Do(func() { g.crowd.there.Add(-1) })
	return g.Conn.Close()
}
