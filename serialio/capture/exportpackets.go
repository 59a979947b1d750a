package capture

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/gopacket/gopacket"
	"github.com/gopacket/gopacket/pcapgo"

	"looptone/frame"
)

// packetExport writes pcapng. Its packets are the events of a serial line, link type 250:
// unlike the private ones, which are nothing but characters, they tell of wrong parity
// and stop bits, of carriers and of losses. A stream is an interface, whose description
// says what a capture file says of one; a comment on a packet says which of its
// characters have which marks.
//
// Time 0 stands as the start of each interface's statistics: by the wall clock, or where
// that is not known at the beginning of 1970.
type packetExport struct {
	to      io.Writer
	w       *pcapgo.NgWriter
	origin  time.Time // of time 0 in the file
	streams [mostStreams]*exportedPort
	buf     []byte
}

// exportedPort is a stream as an interface.
type exportedPort struct {
	id      int
	at      Stamp
	carrier bool
	again   shadow
}

func (e *packetExport) record(rec *exported, lost *omissions) (err error) {
	if rec.resumed && e.w != nil { // another section of the file
		err = e.end()
		e.w, e.streams = nil, [mostStreams]*exportedPort{}
	}
	if err != nil {
		return err
	}
	if e.w == nil {
		if e.origin = rec.Origin; e.origin.IsZero() {
			e.origin = unset
		}
	}
	if rec.Damage != nil {
		if err := e.damage(rec); err != nil {
			return err
		}
	}
	if len(rec.Chars) == 0 && rec.Carrier == 0 && rec.Lost == 0 {
		return nil
	}
	p, err := e.port(rec)
	if err != nil {
		return err
	}
	return e.heard(rec, p, lost)
}

// port is the interface of a record's stream.
func (e *packetExport) port(rec *exported) (*exportedPort, error) {
	if p := e.streams[rec.Stream]; p != nil {
		return p, nil
	}
	stream := pcapgo.NgInterface{Name: fmt.Sprintf("%.1000s", rec.Name), Description: portDescription(rec), LinkType: linkSerial}
	p := &exportedPort{}
	p.again.begin(rec)
	var err error
	if e.w == nil {
		e.w, err = pcapgo.NewNgWriterInterface(e.to, stream, pcapgo.NgWriterOptions{SectionInfo: pcapgo.NgSectionInfo{Application: "looptone"}})
	} else {
		p.id, err = e.w.AddInterface(stream)
	}
	if err != nil {
		return nil, err
	}
	e.streams[rec.Stream] = p
	return p, e.w.WriteInterfaceStats(p.id, pcapgo.NgInterfaceStatistics{
		StartTime: e.origin, LastUpdate: e.origin, PacketsReceived: pcapgo.NgNoValue64, PacketsDropped: pcapgo.NgNoValue64,
	})
}

// portDescription says of a stream what a capture file does, in the same words.
func portDescription(rec *exported) string {
	b := strconv.AppendUint([]byte("stream "), uint64(rec.Stream), 10)
	b = append(append(b, " times="...), [...]string{NoTimes: "none", StartTimes: "start", EndTimes: "end"}[rec.timesTold()]...)
	if rec.Late > 0 {
		b = appendSeconds(append(b, " late="...), rec.Late)
	}
	b = append(b, map[bool]string{true: " parity=visible", false: " parity=hidden"}[rec.Parity]...)
	if rec.Via != Unknown {
		b = append(append(b, " via="...), vias[rec.Via]...)
	}
	if _, offset := rec.Origin.Zone(); offset != 0 {
		b = rec.Origin.AppendFormat(append(b, " "+zoneWord...), zoneLayout)
	}
	return string(b)
}

// A description also tells in which time zone the capture was.
const (
	zoneWord   = "zone="
	zoneLayout = "-07:00:00"
)

var errNot1970 = errors.New("pcapng has no times before 1970")

func (e *packetExport) heard(rec *exported, p *exportedPort, lost *omissions) error {
	switch at := rec.Start; {
	case rec.timesTold() == EndTimes && rec.End.known:
		p.at = rec.End
	case at.known:
		p.at = at
	}
	if rec.Lost > 0 {
		p.again.news(p.carrier)
		if err := e.event(p, dataLost, nil, lostComment+strconv.FormatInt(rec.Lost, 10)); err != nil {
			return err
		}
	}
	if rec.Carrier != 0 {
		p.carrier = rec.Carrier > 0
		p.again.news(p.carrier)
		return e.event(p, statusChanged, nil, carrierComment+map[bool]string{true: "on", false: "off"}[p.carrier])
	}
	if len(rec.Chars) == 0 {
		return nil
	}
	event := receivingStarted
	if rec.timesTold() == EndTimes {
		event = receivingEnded
	}
	comment := []byte(marksComment)
	for i, marks := 0, rec.marks; i < len(rec.Chars) && len(marks) > 0; i++ {
		var mark frame.Mark
		mark, marks = markOf(marks, i)
		comment = appendMarked(comment, i+1, mark)
		switch {
		case mark&frame.Framing != 0:
			event = framingWrong
		case mark&frame.Parity != 0 && event != framingWrong:
			event = parityWrong
		}
	}
	p.again.take(rec, lost)
	if len(comment) == len(marksComment) {
		comment = nil
	}
	return e.event(p, event, rec.Chars, string(comment))
}

// event writes a packet, with a comment if there is something to say.
func (e *packetExport) event(p *exportedPort, event serialEvent, chars []byte, comment string) error {
	at := e.origin.Add(p.at.since)
	if at.Before(unset) {
		return errNot1970
	}
	e.buf = append(appendSerialHead(e.buf[:0], event, p.carrier), chars...)
	var options pcapgo.NgPacketOptions
	if comment != "" {
		options.Comments = []string{comment}
	}
	return e.w.WritePacketWithOptions(gopacket.CaptureInfo{
		Timestamp: at, CaptureLength: len(e.buf), Length: len(e.buf), InterfaceIndex: p.id,
	}, e.buf, options)
}

// damage tells that characters are missing, and nobody knows how many.
func (e *packetExport) damage(rec *exported) error {
	for _, p := range e.streams {
		if p != nil {
			return e.event(p, dataLost, nil, fmt.Sprintf("%.1000s", rec.Damage))
		}
	}
	return nil
}

func (e *packetExport) end() error {
	if e.w == nil {
		var err error
		if e.w, err = pcapgo.NewNgWriterInterface(e.to, pcapgo.NgInterface{LinkType: linkSerial}, pcapgo.NgWriterOptions{}); err != nil {
			return err
		}
	}
	return e.w.Flush()
}
