package capture

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/gopacket/gopacket"
	"github.com/gopacket/gopacket/layers"
	"github.com/gopacket/gopacket/pcapgo"
)

// A packet is one of a file of packets. Its data are valid until the next one is read.
type packet struct {
	number   int64 // from 1
	at       time.Time
	timed    bool
	port     port
	link     layers.LinkType
	data     []byte
	missing  int // bytes that it had when it was captured, and that are not here
	comments []string
	resumed  bool // it is the first of another section of the file
}

// port is where packets come from: a file's interface, and whether they came in or went
// out there.
type port struct {
	number    int
	direction direction
}

type direction uint8

const (
	undirected direction = iota
	inbound
	outbound
)

// packetSource reads a file of packets.
type packetSource interface {
	next(p *packet) error
	// about is what the file says of the port that the last packet came from: its name,
	// its description, and the time that it says its capture began at, if it does.
	about() (name, description string, started time.Time)
}

const (
	// mostOfPacket is more than a packet and what stands around it can be.
	mostOfPacket = 1 << 20
	// mostPorts is more than a file can have any use for.
	mostPorts = 1024
)

var (
	errTooLong   = fmt.Errorf("the packet, or what stands in front of it, is longer than %d bytes", mostOfPacket)
	errEndsIn    = errors.New("the file ends inside it")
	errTooMany   = fmt.Errorf("the packet stands behind more than %d interfaces", mostPorts)
	packetMagics = [...]string{
		"\x0a\x0d\x0d\x0a",                     // pcapng
		"\xd4\xc3\xb2\xa1", "\xa1\xb2\xc3\xd4", // pcap with microseconds
		"\x4d\x3c\xb2\xa1", "\xa1\xb2\x3c\x4d", // with nanoseconds
	}
)

// isPackets reports whether the input begins as a file of packets does.
func isPackets(in *input) bool {
	for _, magic := range packetMagics {
		if in.begins(magic) {
			return true
		}
	}
	return false
}

// openSource begins to read a file of packets. what is its format.
func openSource(in *input) (s packetSource, what string, err error) {
	portion := &portion{in: in, left: mostOfPacket}
	if !in.begins(packetMagics[0]) {
		r, err := pcapgo.NewReader(portion)
		return &pcapSource{r: r, portion: portion}, "pcap", err
	}
	s2 := &pcapngSource{portion: portion}
	s2.r, err = pcapgo.NewNgReader(bufio.NewReader(portion), pcapgo.NgReaderOptions{
		WantMixedLinkType:  true,
		SkipUnknownVersion: true,
		SectionEndCallback: func([]pcapgo.NgInterface, pcapgo.NgSectionInfo) { s2.resumed, s2.started = true, nil },
		StatisticsCallback: s2.keepStart,
	})
	return s2, "pcapng", err
}

// A portion reads an input, but not more than one packet can be long at once: what a
// file says of a length is not to be trusted.
type portion struct {
	in   *input
	left int
}

func (p *portion) Read(b []byte) (int, error) {
	if p.left <= 0 {
		return 0, errTooLong
	}
	n, err := p.in.Read(b[:min(len(b), p.left)])
	p.left -= n
	return n, err
}

type pcapSource struct {
	r       *pcapgo.Reader
	portion *portion
}

func (s *pcapSource) next(p *packet) error {
	s.portion.left = mostOfPacket
	data, ci, err := s.r.ZeroCopyReadPacketData()
	if err == io.EOF && ci.CaptureLength > 0 {
		err = io.ErrUnexpectedEOF
	}
	p.fill(data, &ci)
	p.link = s.r.LinkType()
	return err
}

func (s *pcapSource) about() (name, description string, started time.Time) { return }

type pcapngSource struct {
	r       *pcapgo.NgReader
	portion *portion
	port    int // of the last packet
	resumed bool
	started map[int]time.Time // by port, as far as it was told in front of its packets
}

func (s *pcapngSource) next(p *packet) error {
	s.portion.left = mostOfPacket
	data, ci, options, err := s.r.ZeroCopyReadPacketDataWithOptions()
	if err == nil && s.r.NInterfaces() > mostPorts {
		err = errTooMany
	}
	p.fill(data, &ci)
	p.comments, s.port = options.Comments, ci.InterfaceIndex
	if options.Flags != nil {
		switch options.Flags.Direction {
		case pcapgo.NgEpbFlagDirectionInbound:
			p.port.direction = inbound
		case pcapgo.NgEpbFlagDirectionOutbound:
			p.port.direction = outbound
		}
	}
	if len(ci.AncillaryData) > 0 {
		p.link, _ = ci.AncillaryData[0].(layers.LinkType)
	}
	p.resumed, s.resumed = s.resumed, false
	return err
}

func (s *pcapngSource) keepStart(port int, stats pcapgo.NgInterfaceStatistics) {
	if s.started == nil {
		s.started = make(map[int]time.Time)
	}
	if !stats.StartTime.IsZero() {
		s.started[port] = stats.StartTime
	}
}

func (s *pcapngSource) about() (name, description string, started time.Time) {
	port, err := s.r.Interface(s.port)
	if err != nil {
		return "", "", time.Time{}
	}
	return port.Name, port.Description, s.started[s.port]
}

// fill takes over what both formats tell of a packet.
func (p *packet) fill(data []byte, ci *gopacket.CaptureInfo) {
	year := ci.Timestamp.Year() // of a packet without a time it is 1
	*p = packet{
		number: p.number + 1, at: ci.Timestamp, timed: 1970 <= year && year <= 9999,
		port: port{number: ci.InterfaceIndex}, data: data, missing: ci.Length - ci.CaptureLength,
	}
}
