package capture

import (
	"encoding/binary"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"looptone/frame"
)

// A packet of link type 250 is an event of a serial line: 12 bytes, high byte first,
// and the characters that it is about.
//
//	0  time of the event in seconds   (the packet has it too, and that one counts)
//	4  and in microseconds
//	8  event
//	9  control lines
//	10 nothing
//	12 characters
//
// Source: The Tcpdump Group, Link-layer header types, LINKTYPE_RTAC_SERIAL (from
// memory).
const serialHead = 12

// serialEvent is what has happened on a serial line.
type serialEvent uint8

const (
	statusChanged serialEvent = iota
	sendingStarted
	receivingStarted
	sendingEnded
	receivingEnded
	dataLost
	captureEnded
	framingWrong
	parityWrong
	breakHeard
	overflowed
)

// carrierLine is the bit of the control lines that tells a carrier.
const carrierLine = 0x02

var (
	errEventHead = fmt.Errorf("is shorter than the head of an event, which is %d bytes", serialHead)
	errNoChars   = errors.New("tells a wrong character, but not which")
	errUnknown   = errors.New("is no event of a serial line, want 0 to 10")
	errDataLost  = errors.New("characters were lost when it was captured; how many it does not tell")
)

// takeSerial takes an event of a serial line.
func (r *packetReader) takeSerial(p *packet) {
	if len(p.data) < serialHead {
		r.damaged(fmt.Errorf("packet %w", errEventHead))
		return
	}
	event, lines, chars := serialEvent(p.data[8]), p.data[9], p.data[serialHead:]
	p.port.direction = inbound // where errors are seen, and the carrier
	if event == sendingStarted || event == sendingEnded {
		p.port.direction = outbound
	}
	s := r.portStream(p)
	if s == nil {
		return
	}
	h := hearing{from: s, at: r.stamp(p), chars: chars, packet: p.number, offset: serialHead}
	switch event {
	case statusChanged:
		r.takeLines(&h, lines, p.comments)
		return
	case sendingStarted, receivingStarted, sendingEnded, receivingEnded:
	case framingWrong:
		h.marks = allMarked(chars, frame.Framing)
	case parityWrong:
		h.marks = allMarked(chars, frame.Parity)
	case breakHeard:
		if len(chars) == 0 {
			h.chars = []byte{0}
		}
		h.marks = allMarked(h.chars, frame.Framing)
	case dataLost, overflowed:
		r.takeLoss(&h, p.comments)
		return
	case captureEnded:
		return
	default:
		r.damaged(fmt.Errorf("%d %w", event, errUnknown))
		return
	}
	if marks, told := markedAs(p.comments, len(chars)); told {
		h.marks = marks
	}
	switch {
	case len(h.chars) > 0:
		r.queue = append(r.queue, h)
	case event == framingWrong || event == parityWrong:
		r.damaged(fmt.Errorf("packet %w", errNoChars))
	}
}

// takeLines looks whether the carrier has changed.
func (r *packetReader) takeLines(h *hearing, lines byte, comments []string) {
	on := lines&carrierLine != 0
	told := false
	for _, c := range comments {
		told = told || strings.HasPrefix(c, carrierComment)
	}
	if !told && on == h.from.carrier {
		return
	}
	h.carrier = -1
	if on {
		h.carrier = 1
	}
	h.from.carrier, h.chars = on, nil
	r.queue = append(r.queue, *h)
}

func (r *packetReader) takeLoss(h *hearing, comments []string) {
	h.chars = nil
	for _, c := range comments {
		if n, err := h.from.lost([]byte(strings.TrimPrefix(c, lostComment))); err == nil {
			h.lost = n
			r.queue = append(r.queue, *h)
			return
		}
	}
	r.damaged(errDataLost)
}

// What comments on packets tell beside the events.
const (
	carrierComment = "carrier "
	lostComment    = "lost "
	marksComment   = "marks"
)

// allMarked marks all characters.
func allMarked(chars []byte, mark frame.Mark) (marks []frame.MarkAt) {
	for i := range chars {
		marks = append(marks, frame.MarkAt{Pos: int64(i), Mark: mark})
	}
	return marks
}

// markedAs reads the marks that an [Export] has put into a comment: "marks 3p 7fg",
// where the first character is number 1.
func markedAs(comments []string, chars int) (marks []frame.MarkAt, told bool) {
	for _, c := range comments {
		words := strings.Fields(c)
		if len(words) == 0 || words[0] != marksComment {
			continue
		}
		for _, word := range words[1:] {
			n := decimals([]byte(word))
			i, err := strconv.Atoi(word[:n])
			mark, length := marksOf([]byte(word[n:]))
			if err != nil || i < 1 || i > chars || length == 0 {
				return nil, false
			}
			marks = append(marks, frame.MarkAt{Pos: int64(i - 1), Mark: mark})
		}
		return marks, true
	}
	return nil, false
}

// appendSerialHead begins a packet.
func appendSerialHead(b []byte, event serialEvent, carrier bool) []byte {
	b = binary.BigEndian.AppendUint64(b, 0) // the packet has the time
	lines := byte(0)
	if carrier {
		lines = carrierLine
	}
	return append(b, byte(event), lines, 0, 0)
}
