package capture

import (
	"errors"
	"fmt"
	"net"
	"slices"

	"github.com/gopacket/gopacket"
	"github.com/gopacket/gopacket/layers"
)

// flowKey is one direction of a conversation over a network.
type flowKey struct{ network, transport gopacket.Flow }

// networkFlow is a direction, and of TCP what waits until what stands before it is here.
type networkFlow struct {
	*packetStream
	begun bool
	anew  bool   // its next segment does not continue it: another connection begins
	next  uint32 // sequence number
	held  []segment
	bytes int // that are held
}

// segment is a piece of a flow, with data of its own.
type segment struct {
	seq uint32
	hearing
}

const (
	// mostHeld bounds what waits in a flow. What is missing then does not come any more.
	mostHeld     = 64 << 10
	mostSegments = 64
	// mostAhead is how far a sequence number lies ahead at most; otherwise it is of
	// another connection.
	mostAhead = 1 << 20
)

// Source: common practice: adapters of serial ports hand on what they have every 16 ms.
const networkLate = 16e6 // nanoseconds

var errFragment = errors.New("is a fragment of a larger one, which is not put together: its characters are missing")

// decoders are what reads a packet of a network, by its link type.
var decoders = map[layers.LinkType]gopacket.Decoder{
	layers.LinkTypeNull:      layers.LinkTypeNull,
	layers.LinkTypeEthernet:  layers.LinkTypeEthernet,
	layers.LinkTypeRaw:       layers.LinkTypeRaw,
	layers.LinkTypeLoop:      layers.LinkTypeLoop,
	layers.LinkTypeLinuxSLL:  layers.LinkTypeLinuxSLL,
	layers.LinkTypeLinuxSLL2: layers.LinkTypeLinuxSLL2,
	layers.LinkTypeIPv4:      layers.LayerTypeIPv4,
	layers.LinkTypeIPv6:      layers.LayerTypeIPv6,
}

// takeNetwork takes what UDP and TCP carry. What else there is on a network is no
// capture of a line.
func (r *packetReader) takeNetwork(p *packet) {
	decoder := decoders[p.link]
	if decoder == nil {
		r.refused[p.link] = true
		r.damaged(fmt.Errorf("link type %d %w", p.link, errLink))
		return
	}
	decoded := gopacket.NewPacket(p.data, decoder, gopacket.DecodeOptions{Lazy: true, NoCopy: true})
	switch transport := decoded.TransportLayer().(type) {
	case *layers.UDP:
		if f := r.flow(decoded, "udp"); f != nil && len(transport.Payload) > 0 {
			h := r.heardOf(f, p, transport.Payload)
			h.cut = true
			r.queue = append(r.queue, h)
		}
	case *layers.TCP:
		if f := r.flow(decoded, "tcp"); f != nil {
			r.takeSegment(f, transport, r.heardOf(f, p, transport.Payload))
		}
	case nil:
		if decoded.Layer(gopacket.LayerTypeFragment) != nil {
			r.damaged(fmt.Errorf("packet %w", errFragment))
		}
	}
}

// heardOf is a payload of a packet.
func (r *packetReader) heardOf(f *networkFlow, p *packet, payload []byte) hearing {
	return hearing{from: f.packetStream, at: r.stamp(p), chars: payload, packet: p.number, offset: int64(cap(p.data) - cap(payload))}
}

// flow is the one that a packet belongs to; nil where there are too many.
func (r *packetReader) flow(p gopacket.Packet, protocol string) *networkFlow {
	network, transport := p.NetworkLayer().NetworkFlow(), p.TransportLayer().TransportFlow()
	key := flowKey{network, transport}
	if f, known := r.flows[key]; known {
		return f
	}
	number := uint8(0)
	if len(r.flows) >= 2*mostStreams || !r.free(&number) {
		if len(r.flows) < 2*mostStreams {
			r.flows[key] = nil // so that it is said once
		}
		return nil
	}
	src, dst := network.Endpoints()
	from, to := transport.Endpoints()
	name := protocol + " " + net.JoinHostPort(src.String(), from.String()) + " → " + net.JoinHostPort(dst.String(), to.String())
	f := &networkFlow{packetStream: r.begin(&packetStream{stream: stream{name: name, times: lastEnd, late: networkLate, via: Pipe}, number: number})}
	r.flows[key] = f
	r.ordered = append(r.ordered, f)
	return f
}

// takeSegment puts a segment of TCP to its place.
func (r *packetReader) takeSegment(f *networkFlow, tcp *layers.TCP, h hearing) {
	seq := tcp.Seq
	if tcp.SYN {
		seq++
	}
	ahead := int32(seq - f.next)
	if tcp.SYN && ahead != 0 || f.begun && (ahead > mostAhead || ahead < -mostAhead) {
		r.flush(f)
		f.begun, h.cut = false, f.begun
	}
	if !f.begun {
		f.begun, f.next = true, seq
	}
	if f.anew = f.anew || h.cut; len(h.chars) == 0 {
		return
	}
	h.cut, f.anew = f.anew, false
	if seq != f.next {
		h.chars = slices.Clone(h.chars)
	}
	f.hold(segment{seq, h})
	r.deliver(f)
	for f.bytes > mostHeld || len(f.held) > mostSegments {
		r.skip(f)
	}
}

// hold puts a segment among those that wait, in their order.
func (f *networkFlow) hold(s segment) {
	i := len(f.held)
	for i > 0 && int32(f.held[i-1].seq-s.seq) > 0 {
		i--
	}
	f.held = slices.Insert(f.held, i, s)
	f.bytes += len(s.chars)
}

// deliver hands on what nothing is missing before. Of what was sent twice it takes the
// first.
func (r *packetReader) deliver(f *networkFlow) {
	for len(f.held) > 0 && int32(f.held[0].seq-f.next) <= 0 {
		s := f.held[0]
		f.held = slices.Delete(f.held, 0, 1)
		f.bytes -= len(s.chars)
		known := int(f.next - s.seq)
		if known >= len(s.chars) {
			continue
		}
		s.chars, s.offset = s.chars[known:], s.offset+int64(known)
		f.next += uint32(len(s.chars))
		r.queue = append(r.queue, s.hearing)
	}
}

// skip gives up what is missing before the first segment that waits.
func (r *packetReader) skip(f *networkFlow) {
	first := &f.held[0]
	r.queue = append(r.queue, hearing{from: f.packetStream, at: first.at, lost: int64(first.seq - f.next)})
	f.next = first.seq
	r.deliver(f)
}

// flush gives up all that is missing in a flow.
func (r *packetReader) flush(f *networkFlow) {
	for len(f.held) > 0 {
		r.skip(f)
	}
}

func (r *packetReader) flushFlows() {
	for _, f := range r.ordered {
		r.flush(f)
	}
}
