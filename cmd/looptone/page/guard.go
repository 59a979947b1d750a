package page

import (
	"crypto/subtle"
	"net"
	"net/http"
	"net/netip"
	"strings"
)

// A guard lets requests in that come from where they say they do: a page of somebody
// else that has its name resolved to this machine has another host in its requests.
type guard struct {
	names []string     // besides those of the loopback
	addrs []netip.Addr // besides the loopback
}

// newGuard is a guard for a server that listens at an address, under the name that was
// asked for. One that listens at all addresses has those of this machine.
func newGuard(asked string, at net.Addr) *guard {
	g := &guard{}
	if _, err := netip.ParseAddr(asked); err != nil && asked != "" {
		g.names = append(g.names, strings.ToLower(asked))
	}
	tcp, ok := at.(*net.TCPAddr)
	if !ok {
		return g
	}
	addr := tcp.AddrPort().Addr().Unmap()
	if !addr.IsUnspecified() {
		g.addrs = append(g.addrs, addr)
		return g
	}
	own, _ := net.InterfaceAddrs() // without them only the loopback is known
	for _, a := range own {
		if prefix, err := netip.ParsePrefix(a.String()); err == nil {
			g.addrs = append(g.addrs, prefix.Addr().Unmap())
		}
	}
	return g
}

// isOurs reports whether a Host header names this machine. The port may be another one:
// it may be forwarded.
func (g *guard) isOurs(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	} else {
		name = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	}
	if addr, err := netip.ParseAddr(name); err == nil {
		addr = addr.Unmap()
		return addr.IsLoopback() || g.hasAddr(addr)
	}
	name = strings.ToLower(name)
	return name == "localhost" || g.hasName(name)
}

func (g *guard) hasAddr(a netip.Addr) bool {
	for _, own := range g.addrs {
		if own.WithZone("") == a.WithZone("") {
			return true
		}
	}
	return false
}

func (g *guard) hasName(name string) bool {
	for _, own := range g.names {
		if own == name {
			return true
		}
	}
	return false
}

// isSameOrigin reports whether a request comes from the page itself, or from no page at
// all.
func isSameOrigin(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
	default:
		return false
	}
	origin := r.Header.Get("Origin")
	return origin == "" || strings.EqualFold(origin, "http://"+r.Host)
}

// isKey compares a key without telling by the time that it takes how much of it is right.
func isKey(got, want string) bool { return subtle.ConstantTimeCompare([]byte(got), []byte(want)) == 1 }

// secure has a browser refuse what the page never needs.
func secure(h http.Header) {
	h.Set("Content-Security-Policy", "default-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; object-src 'none'")
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), usb=(), serial=()")
}
