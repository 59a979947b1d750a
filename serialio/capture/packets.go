package capture

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/gopacket/gopacket/layers"

	"looptone/frame"
)

// packetReader reads files of packets, pcap and pcapng. What a packet comes to are
// heard, from none to several.
type packetReader struct {
	in      *input
	source  packetSource
	packet  packet
	here    bool // a packet was read that was not looked at yet
	err     error
	base    time.Time // of time 0, by the clock of the file; zero before the first packet
	clocked bool      // and that is a wall clock
	streams [mostStreams]*packetStream
	count   int                    // of streams
	ports   map[port]*packetStream // of this section of the file
	numbers map[port]uint8         // of the streams of ports, where the file does not tell them
	flows   map[flowKey]*networkFlow
	ordered []*networkFlow // in the order in which they turned up
	refused map[layers.LinkType]bool

	queue []hearing
	marks []frame.MarkAt
}

// packetStream is a stream of a file of packets.
type packetStream struct {
	stream
	number uint8
	zone   *time.Location // in which the capture tells the time; nil for UTC
}

// hearing is something that a packet has told: characters, or news without any.
type hearing struct {
	from    *packetStream
	at      Stamp // of what the times of its stream are of
	chars   []byte
	marks   []frame.MarkAt // Pos counts in chars
	packet  int64
	offset  int64 // of the first character in the packet
	cut     bool  // it does not continue what was heard before
	carrier int8
	lost    int64
	resumed bool
	damage  error
}

// Link types, which tell what is in a packet.
//
// Source: The Tcpdump Group, Link-layer header types (values from memory).
const (
	linkUser0  = 147 // the first of 16 whose meaning is private
	linkUser15 = 162
	linkSerial = 250
)

// mostStreams is how many a capture can have.
const mostStreams = 256

var (
	errLink     = errors.New("cannot be read: want a private one (147 to 162), 250 for serial lines, Ethernet or IP")
	errStreams  = fmt.Errorf("belongs to one stream more than the %d that can be told apart", mostStreams)
	errShortPkt = errors.New("was cut short when it was captured")
)

func openPackets(in *input) (Reader, string, error) {
	r := &packetReader{in: in, ports: map[port]*packetStream{}, numbers: map[port]uint8{}, flows: map[flowKey]*networkFlow{}, refused: map[layers.LinkType]bool{}}
	if !isPackets(in) {
		return nil, "", &SyntaxError{Position{File: in.name}, errors.New("is neither pcap nor pcapng: it does not begin as they do")}
	}
	source, what, err := openSource(in)
	if err != nil {
		return nil, "", r.failed(fmt.Errorf("head of the %s file: %w", what, inSentence(err)))
	}
	r.source = source
	r.err, r.here = source.next(&r.packet), true
	if r.err != nil {
		return r, what + " without packets", nil
	}
	return r, what + contents(r.packet.link), nil
}

// contents is what packets of a link type hold, as a sentence has it.
func contents(link layers.LinkType) string {
	switch {
	case isUser(link):
		return fmt.Sprintf(" of private packets, a stretch of characters each (link type %d)", link)
	case link == linkSerial:
		return " of a serial line (link type 250)"
	}
	return " of a network"
}

func isUser(link layers.LinkType) bool { return linkUser0 <= link && link <= linkUser15 }

// failed is an error of the file under the packets, if it has one, or else err.
func (r *packetReader) failed(err error) error {
	if r.in.err != nil && r.in.err != io.EOF {
		return r.in.err
	}
	return &SyntaxError{Position{File: r.in.name, Packet: r.packet.number}, err}
}

// inSentence is an error of the package that reads packets, as a part of a sentence.
func inSentence(err error) error {
	if errors.Is(err, io.ErrUnexpectedEOF) || err == io.EOF {
		return errEndsIn
	}
	text := err.Error()
	if strings.Contains(text, errTooLong.Error()) {
		return errTooLong
	}
	return errors.New(strings.ToLower(text[:1]) + text[1:])
}

func (r *packetReader) Next(rec *Record) error {
	for len(r.queue) == 0 {
		if r.err != nil && !r.here {
			return r.err
		}
		r.read()
	}
	r.give(&r.queue[0], rec)
	r.queue[0] = hearing{}
	if r.queue = r.queue[1:]; len(r.queue) == 0 {
		r.queue = nil
	}
	return nil
}

// read reads a packet, and puts what it comes to into the queue.
func (r *packetReader) read() {
	if !r.here {
		r.err = r.source.next(&r.packet)
	}
	r.here = false
	switch p := &r.packet; {
	case r.err == io.EOF:
		r.flushFlows()
	case r.err != nil:
		r.flushFlows()
		r.breakOff()
	case r.refused[p.link]:
	default:
		r.take(p)
	}
}

// breakOff ends the reading in the middle of the file. One that merely ends too early
// is damaged, and was read.
func (r *packetReader) breakOff() {
	err := r.err
	r.err = r.failed(inSentence(err))
	if errors.Is(err, io.ErrUnexpectedEOF) && r.in.err == io.EOF {
		r.queue = append(r.queue, hearing{damage: r.err})
		r.err = io.EOF
	}
}

func (r *packetReader) take(p *packet) {
	if p.resumed {
		r.queue = append(r.queue, hearing{resumed: true})
		clear(r.ports) // which are described anew
	}
	if p.timed {
		r.begun(p)
	}
	switch {
	case isUser(p.link):
		r.takeWhole(p)
	case p.link == linkSerial:
		r.takeSerial(p)
	default:
		r.takeNetwork(p)
	}
	if p.missing > 0 {
		r.damaged(fmt.Errorf("%w: %d of %d bytes are here", errShortPkt, len(p.data), len(p.data)+p.missing))
	}
}

// takeWhole takes a packet that is a stretch of characters, mostly a frame.
func (r *packetReader) takeWhole(p *packet) {
	if s := r.portStream(p); s != nil && len(p.data) > 0 {
		r.queue = append(r.queue, hearing{from: s, at: r.stamp(p), chars: p.data, packet: p.number, cut: true})
	}
}

// damaged puts a damage of the file behind what was read.
func (r *packetReader) damaged(err error) {
	r.queue = append(r.queue, hearing{damage: &SyntaxError{Position{File: r.in.name, Packet: r.packet.number}, err}})
}

// portStream is the stream of a packet's port; nil where there are too many.
func (r *packetReader) portStream(p *packet) *packetStream {
	if s := r.ports[p.port]; s != nil {
		return s
	}
	name, description, _ := r.source.about()
	s := describedAs(description)
	if s == nil {
		number, known := r.numbers[p.port]
		if !known && !r.free(&number) {
			return nil
		}
		r.numbers[p.port] = number
		s = &packetStream{stream: stream{times: lastEnd}, number: number}
		name = strings.TrimSpace(name + directions[p.port.direction])
	}
	s.name = name
	if s.zone != nil {
		r.base = r.base.In(s.zone)
	}
	r.ports[p.port] = r.begin(s)
	return s
}

var directions = [...]string{undirected: "", inbound: " in", outbound: " out"}

// free finds a number that no stream has, and says where there is none.
func (r *packetReader) free(number *uint8) bool {
	for i, s := range r.streams {
		if s == nil {
			*number = uint8(i)
			return true
		}
	}
	r.damaged(errStreams)
	return false
}

// begin begins a stream. Where there was one of that number, its characters go on being
// counted.
func (r *packetReader) begin(s *packetStream) *packetStream {
	if before := r.streams[s.number]; before != nil {
		s.pos, s.cut = before.pos, true
	} else {
		r.count++
	}
	r.streams[s.number] = s
	return s
}

// describedAs is the stream that an [Export] has described, nil for what another program
// has written.
func describedAs(description string) *packetStream {
	var s packetStream
	words := strings.Fields(description)
	if len(words) < 2 || words[0] != "stream" {
		return nil
	}
	number, err := strconv.ParseUint(words[1], 10, 8)
	if s.number = uint8(number); err != nil {
		return nil
	}
	for _, word := range words[2:] {
		if zone, told := strings.CutPrefix(word, zoneWord); told {
			clock, err := time.Parse(zoneLayout, zone)
			if err != nil {
				return nil
			}
			_, offset := clock.Zone()
			s.zone = time.FixedZone("", offset)
		} else if s.describe(word) != nil {
			return nil
		}
	}
	return &s
}

// stamp is when a packet was captured.
func (r *packetReader) stamp(p *packet) Stamp {
	if !p.timed {
		return Stamp{}
	}
	since := p.at.Sub(r.base)
	if since > longest || since < -longest {
		return Stamp{}
	}
	return After(since)
}

// begun finds time 0: it is told in front of a section's first packet, or that packet is
// the first of all. A clock that nobody has set began in 1970.
func (r *packetReader) begun(p *packet) {
	_, _, started := r.source.about()
	switch told := !started.IsZero() && !started.After(p.at); {
	case told && (r.base.IsZero() || p.resumed):
		r.base, r.clocked = started, !started.Equal(unset)
	case r.base.IsZero():
		if r.base, r.clocked = p.at, p.at.Year() > 1970; !r.clocked {
			r.base = unset
		}
	}
}

var unset = time.Unix(0, 0).UTC()

// give makes a record of what was heard.
func (r *packetReader) give(h *hearing, rec *Record) {
	*rec = Record{Streams: r.count, Damage: h.damage, Resumed: h.resumed, Carrier: h.carrier, Lost: h.lost}
	if r.clocked {
		rec.Origin = r.base
	}
	if h.damage != nil || h.resumed {
		r.cutAll()
		return
	}
	s := h.from
	s.cut = s.cut || h.cut
	rec.Stream, rec.Name, rec.Late, rec.Parity, rec.Via, rec.Times = s.number, s.name, s.late, s.parity, s.via, s.times.told()
	if s.times == ofNothing {
		h.at = Stamp{}
	}
	r.marks = r.marks[:0]
	for _, m := range h.marks {
		r.marks = append(r.marks, frame.MarkAt{Pos: s.pos + m.Pos, Mark: m.Mark})
	}
	if len(h.chars) == 0 {
		rec.Start, rec.End = h.at, h.at
		rec.Marks = s.cutMark(r.marks)
		return
	}
	if h.at.known {
		rec.Start, rec.End = s.span(h.at.since, int64(len(h.chars)))
	}
	if s.breaks(rec.Start) {
		r.marks = s.cutMark(r.marks)
	}
	rec.Chars, rec.Marks = h.chars, r.marks
	rec.Place = Place{File: r.in.name, Packet: h.packet, Byte: h.offset}
	s.pos, s.end = s.pos+int64(len(h.chars)), rec.End
}

// cutAll: behind what is missing or begins anew, nothing continues.
func (r *packetReader) cutAll() {
	for _, s := range r.streams {
		if s != nil {
			s.cut = true
		}
	}
}
