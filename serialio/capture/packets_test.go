package capture

import (
	"bytes"
	"errors"
	"io"
	"net"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/gopacket/gopacket"
	"github.com/gopacket/gopacket/layers"
	"github.com/gopacket/gopacket/pcapgo"

	"looptone/frame"
)

// noon is when the packets of the tests begin.
var noon = time.Date(2031, 3, 1, 12, 0, 0, 0, time.UTC)

// pcapOf is a pcap file. Packet i is captured i tenths of a second after noon.
func pcapOf(t testing.TB, link layers.LinkType, packets ...[]byte) []byte {
	t.Helper()
	var file bytes.Buffer
	w := pcapgo.NewWriterNanos(&file)
	if err := w.WriteFileHeader(1<<18, link); err != nil {
		t.Fatal(err)
	}
	for i, p := range packets {
		ci := gopacket.CaptureInfo{Timestamp: noon.Add(time.Duration(i) * 100 * time.Millisecond), CaptureLength: len(p), Length: len(p)}
		if err := w.WritePacket(ci, p); err != nil {
			t.Fatal(err)
		}
	}
	return file.Bytes()
}

// tell is what a capture tells, in words: what was found, then a line a record.
func tell(t testing.TB, file []byte, as string) (lines []string) {
	t.Helper()
	rd, what, err := Open(bytes.NewReader(file), "trace", as)
	if err != nil {
		return []string{err.Error()}
	}
	lines = []string{what}
	for rec := new(Record); ; {
		if err := rd.Next(rec); err != nil {
			if err != io.EOF {
				lines = append(lines, err.Error())
			}
			return lines
		}
		lines = append(lines, inWords(rec))
	}
}

func inWords(rec *Record) string {
	var b strings.Builder
	if rec.Damage != nil {
		return "damage: " + rec.Damage.Error()
	}
	if rec.Resumed {
		return "resumed"
	}
	b.WriteString(string('0' + rune(rec.Stream)))
	if rec.Name != "" {
		b.WriteString(" " + rec.Name)
	}
	if end, known := rec.End.Since(); known {
		b.WriteString(" " + end.String())
	}
	switch {
	case rec.Lost > 0:
		b.WriteString(" lost " + string(appendMarked(nil, int(rec.Lost), frame.Parity)))
	case rec.Carrier != 0:
		b.WriteString(map[int8]string{1: " on", -1: " off"}[rec.Carrier])
	}
	for i, c := range rec.Chars {
		b.WriteString(" " + string([]byte{hexDigits[c>>4], hexDigits[c&15]}))
		_ = i
	}
	for _, m := range rec.Marks {
		b.WriteString(", " + m.Mark.String() + " " + string(appendMarked(nil, int(m.Pos), frame.Parity)))
	}
	if len(rec.Chars) > 0 {
		b.WriteString(" @" + rec.Place.Of(0).String())
	}
	return b.String()
}

func expect(t *testing.T, got []string, want ...string) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestPrivatePackets(t *testing.T) {
	file := pcapOf(t, 147, mustHex(t, "ff ff 02 80 01 00 83"), mustHex(t, "02 80 01 00 83"))
	expect(t, tell(t, file, ""),
		"pcap of private packets, a stretch of characters each (link type 147)",
		"0 0s ff ff 02 80 01 00 83 @trace: packet 1, byte 0",
		"0 100ms 02 80 01 00 83, cut  7p @trace: packet 2, byte 0")
}

// event is a packet of link type 250.
func event(kind serialEvent, lines byte, chars ...byte) []byte {
	return append([]byte{0, 0, 0, 0, 0, 0, 0, 0, byte(kind), lines, 0, 0}, chars...)
}

func TestSerialEvents(t *testing.T) {
	file := pcapOf(t, linkSerial,
		event(statusChanged, carrierLine), event(statusChanged, carrierLine|8), event(receivingEnded, carrierLine, 0xff, 0xff),
		event(parityWrong, carrierLine, 2), event(framingWrong, carrierLine, 3), event(breakHeard, carrierLine),
		event(sendingEnded, 0, 6), event(statusChanged, 0), event(dataLost, 0), event(parityWrong, 0), event(captureEnded, 0), event(99, 0), []byte{1})
	expect(t, tell(t, file, ""),
		"pcap of a serial line (link type 250)",
		"0 in 0s on",
		"0 in 200ms ff ff @trace: packet 3, byte 12",
		"0 in 300ms 02, parity  2p @trace: packet 4, byte 12",
		"0 in 400ms 03, framing  3p @trace: packet 5, byte 12",
		"0 in 500ms 00, framing  4p @trace: packet 6, byte 12",
		"1 out 600ms 06 @trace: packet 7, byte 12",
		"0 in 700ms off, cut  5p",
		"damage: trace: packet 9, byte 0: characters were lost when it was captured; how many it does not tell",
		"damage: trace: packet 10, byte 0: packet tells a wrong character, but not which",
		"damage: trace: packet 12, byte 0: 99 is no event of a serial line, want 0 to 10",
		"damage: trace: packet 13, byte 0: packet is shorter than the head of an event, which is 12 bytes")
}

// onNetwork is a packet from host A to B, or back.
func onNetwork(t testing.TB, back bool, transport gopacket.SerializableLayer, payload ...byte) []byte {
	t.Helper()
	a, b := net.IPv4(192, 0, 2, 1), net.IPv4(192, 0, 2, 2)
	if back {
		a, b = b, a
	}
	mac := net.HardwareAddr{2, 0, 0, 0, 0, 1}
	ip := &layers.IPv4{Version: 4, TTL: 64, SrcIP: a, DstIP: b}
	switch l := transport.(type) {
	case *layers.UDP:
		ip.Protocol = layers.IPProtocolUDP
		l.SetNetworkLayerForChecksum(ip)
	case *layers.TCP:
		ip.Protocol = layers.IPProtocolTCP
		l.SetNetworkLayerForChecksum(ip)
	}
	buf := gopacket.NewSerializeBuffer()
	err := gopacket.SerializeLayers(buf, gopacket.SerializeOptions{FixLengths: true, ComputeChecksums: true},
		&layers.Ethernet{SrcMAC: mac, DstMAC: mac, EthernetType: layers.EthernetTypeIPv4}, ip, transport, gopacket.Payload(payload))
	if err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func TestDatagrams(t *testing.T) {
	file := pcapOf(t, layers.LinkTypeEthernet,
		onNetwork(t, false, &layers.UDP{SrcPort: 4000, DstPort: 5000}, 2, 0x80, 1, 0, 0x83),
		onNetwork(t, true, &layers.UDP{SrcPort: 5000, DstPort: 4000}, 6, 0x80, 1),
		onNetwork(t, false, &layers.UDP{SrcPort: 4000, DstPort: 5000}, 2))
	expect(t, tell(t, file, ""),
		"pcap of a network",
		"0 udp 192.0.2.1:4000 → 192.0.2.2:5000 0s 02 80 01 00 83 @trace: packet 1, byte 42",
		"1 udp 192.0.2.2:5000 → 192.0.2.1:4000 100ms 06 80 01 @trace: packet 2, byte 42",
		"0 udp 192.0.2.1:4000 → 192.0.2.2:5000 200ms 02, cut  5p @trace: packet 3, byte 42")
}

func TestSegments(t *testing.T) {
	tcp := func(seq uint32, flags ...string) *layers.TCP {
		return &layers.TCP{SrcPort: 4000, DstPort: 5000, Seq: seq, SYN: len(flags) > 0, ACK: true, DataOffset: 5}
	}
	const start = 0xfffffffe // so that numbers begin anew in the middle
	packets := func(first ...[]byte) []byte { return pcapOf(t, layers.LinkTypeEthernet, first...) }
	sent := func(seq uint32, chars ...byte) []byte { return onNetwork(t, false, tcp(start+seq), chars...) }
	file := packets(
		onNetwork(t, false, tcp(start-1, "syn")),
		sent(0, 1, 2),
		sent(4, 5, 6),    // too early
		sent(2, 3, 4),    // and what it waits for
		sent(2, 3, 4),    // sent again
		sent(5, 6, 7, 8), // overlaps
		sent(20, 9),      // something is missing that never comes
		onNetwork(t, false, tcp(7000, "syn")),
		onNetwork(t, false, tcp(7001), 10))
	name := "0 tcp 192.0.2.1:4000 → 192.0.2.2:5000 "
	expect(t, tell(t, file, ""),
		"pcap of a network",
		name+"100ms 01 02 @trace: packet 2, byte 54",
		name+"300ms 03 04, cut  2p @trace: packet 4, byte 54",
		name+"200ms 05 06 @trace: packet 3, byte 54",
		name+"500ms 07 08, cut  6p @trace: packet 6, byte 55",
		name+"600ms lost  12p, cut  8p",
		name+"600ms 09 @trace: packet 7, byte 54",
		name+"800ms 0a, cut  9p @trace: packet 9, byte 54")
}

func TestWhatIsCutShort(t *testing.T) {
	var file bytes.Buffer
	w := pcapgo.NewWriterNanos(&file)
	err := errors.Join(w.WriteFileHeader(4, 147),
		w.WritePacket(gopacket.CaptureInfo{Timestamp: noon, CaptureLength: 4, Length: 7}, mustHex(t, "ff ff 02 80")),
		w.WritePacket(gopacket.CaptureInfo{Timestamp: noon, CaptureLength: 3, Length: 3}, mustHex(t, "06 80 01")))
	if err != nil {
		t.Fatal(err)
	}
	whole := file.Bytes()
	expect(t, tell(t, whole[:len(whole)-2], ""),
		"pcap of private packets, a stretch of characters each (link type 147)",
		"0 0s ff ff 02 80 @trace: packet 1, byte 0",
		"damage: trace: packet 1, byte 0: was cut short when it was captured: 4 of 7 bytes are here",
		"damage: trace: packet 2, byte 0: the file ends inside it")
	for end := 24; end < len(whole); end++ { // wherever it ends, it is said
		lines := tell(t, whole[:end], "")
		if last := lines[len(lines)-1]; end != 24 && end != 44 && !strings.HasSuffix(last, "the file ends inside it") {
			t.Errorf("%d bytes: %q", end, lines)
		}
	}
}

func TestWrongPackets(t *testing.T) {
	ng := "\x0a\x0d\x0d\x0a\x1c\x00\x00\x00\x4d\x3c\x2b\x1a\x01\x00\x00\x00\xff\xff\xff\xff\xff\xff\xff\xff\x1c\x00\x00\x00"
	tests := []struct{ name, file, as, want string }{
		{"something else", "ff ff", "pcap", "trace: byte 0: is neither pcap nor pcapng: it does not begin as they do"},
		{"nothing", "", "pcap", "trace is empty"},
		{"a head that ends", "\xd4\xc3\xb2\xa1\x02\x00", "", "trace: byte 0: head of the pcap file: the file ends inside it"},
		{"another version", "\xd4\xc3\xb2\xa1\x03\x00\x04\x00" + strings.Repeat("\x00", 16), "", "trace: byte 0: head of the pcap file: unknown major version 3"},
		{"no byte order", "\x0a\x0d\x0d\x0a\x1c\x00\x00\x00zzzz", "", "trace: byte 0: head of the pcapng file: wrong byte order value in Section Header"},
		{"a packet of no interface", ng + "\x06\x00\x00\x00\x20\x00\x00\x00" + strings.Repeat("\x00", 24), "",
			"trace: packet 1, byte 0: interface id 0 not present in section (have only 0 interfaces)"},
		{"a block of 3 GiB", ng + "\x99\x00\x00\x00\x00\x00\x00\xc0" + strings.Repeat("\x00", 2<<20), "",
			"trace: packet 1, byte 0: the packet, or what stands in front of it, is longer than 1048576 bytes"},
		{"a packet of 3 GiB", string(pcapOf(t, 147)) + "\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\xc0\x00\x00\x00\xc0", "",
			"trace: packet 1, byte 0: capture length exceeds snap length: 3221225472 > 262144"},
		{"another link", string(pcapOf(t, 105, []byte{1})), "",
			"damage: trace: packet 1, byte 0: link type 105 cannot be read: want a private one (147 to 162), 250 for serial lines, Ethernet or IP"},
	}
	for _, tt := range tests {
		lines := tell(t, []byte(tt.file), tt.as)
		if got := lines[len(lines)-1]; got != tt.want {
			t.Errorf("%s: got  %s\nwant %s", tt.name, got, tt.want)
		}
	}
}

func FuzzPackets(f *testing.F) {
	f.Add(pcapOf(f, 147, []byte{0xff, 2}, []byte{6}))
	f.Add(pcapOf(f, linkSerial, event(parityWrong, 2, 1), event(statusChanged, 0), event(dataLost, 0)))
	f.Add(pcapOf(f, layers.LinkTypeEthernet, onNetwork(f, false, &layers.UDP{SrcPort: 1}, 2), onNetwork(f, true, &layers.TCP{DstPort: 1, DataOffset: 5}, 2)))
	var ng bytes.Buffer
	e, _ := NewExport(&ng, "pcapng")
	e.Write(&Record{Chars: []byte{1, 2}, Marks: []frame.MarkAt{{Pos: 1, Mark: frame.Parity}}, Start: After(0), End: After(1), Lost: 3})
	e.Close()
	f.Add(ng.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) { checkRecords(t, b, "pcap") })
}

// checkRecords reads something, whatever it is. Marks stand where characters are.
func checkRecords(t *testing.T, b []byte, as string) {
	rd, _, err := Open(bytes.NewReader(b), "trace", as)
	if err != nil {
		return
	}
	var pos [256]int64
	for rec := new(Record); ; {
		if err := rd.Next(rec); err != nil {
			if again := rd.Next(rec); again != err {
				t.Errorf("got %v, then %v", err, again)
			}
			return
		}
		first := pos[rec.Stream]
		pos[rec.Stream] += int64(len(rec.Chars))
		for _, m := range rec.Marks {
			if m.Pos < first || m.Pos > pos[rec.Stream] || m.Pos == pos[rec.Stream] && len(rec.Chars) > 0 {
				t.Errorf("mark %v of characters %d to %d", m, first, pos[rec.Stream])
			}
		}
		for i := range rec.Chars {
			_ = rec.Place.Of(i).String()
		}
	}
}
