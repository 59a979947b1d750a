package view

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"looptone/frame"
	"looptone/frame/exchange"
	"looptone/frame/payload"
)

// sentenceHex is how wide the bytes in front of a sentence may be.
const sentenceHex = 17

// stripWidth is how wide a strip of byte boxes may be.
const stripWidth = 96

// A Box is some bytes of a message with their caption, and what they say.
type Box struct {
	Bytes    []byte // of the message; they are gone with it
	Caption  string
	Sentence string
}

// Explain takes a whole frame apart: one strip of byte boxes, then one sentence
// for each.
func Explain(m *exchange.Message) string {
	boxes := TakeApart(m)
	var b strings.Builder
	for rest := pieces(boxes); len(rest) > 0; {
		n := fitting(rest)
		writeStrip(&b, rest[:n])
		rest = rest[n:]
	}
	width := 0
	for _, x := range boxes {
		width = max(width, min(len(x.hex()), sentenceHex))
	}
	for _, x := range boxes {
		hex := x.hex()
		if len(hex) > width {
			fmt.Fprintf(&b, "  %s\n", hex)
			hex = ""
		}
		fmt.Fprintf(&b, "  %-*s  %s: %s\n", width, hex, x.Caption, x.Sentence)
	}
	return b.String()
}

// pieceLen is how many bytes of one box fit a strip.
const pieceLen = 24

// pieces are boxes of which each fits a strip; what goes on has no caption.
func pieces(boxes []Box) (fit []Box) {
	for _, x := range boxes {
		for len(x.Bytes) > pieceLen {
			fit = append(fit, Box{Bytes: x.Bytes[:pieceLen], Caption: x.Caption})
			x.Bytes, x.Caption = x.Bytes[pieceLen:], "…"
		}
		fit = append(fit, x)
	}
	return fit
}

func (x *Box) hex() string { return fmt.Sprintf("% x", x.Bytes) }

func (x *Box) width() int { return max(len(x.hex()), utf8.RuneCountInString(x.Caption)) }

// fitting is how many boxes stand side by side in one strip.
func fitting(boxes []Box) int {
	width := 1
	for i := range boxes {
		if width += boxes[i].width() + 3; width > stripWidth && i > 0 {
			return i
		}
	}
	return len(boxes)
}

func writeStrip(b *strings.Builder, boxes []Box) {
	rule := func(left, middle, right string) {
		b.WriteString("  " + left)
		for i := range boxes {
			if i > 0 {
				b.WriteString(middle)
			}
			b.WriteString(strings.Repeat("─", boxes[i].width()+2))
		}
		b.WriteString(right + "\n")
	}
	row := func(text func(*Box) string) {
		b.WriteString("  │")
		for i := range boxes {
			fmt.Fprintf(b, " %-*s │", boxes[i].width(), text(&boxes[i]))
		}
		b.WriteString("\n")
	}
	rule("┌", "┬", "┐")
	row((*Box).hex)
	row(func(x *Box) string { return x.Caption })
	rule("└", "┴", "┘")
}

// TakeApart cuts a whole frame into boxes, preambles first; of more than five of those
// five are shown.
func TakeApart(m *exchange.Message) []Box {
	f, raw := &m.Frame, m.Raw
	var boxes []Box
	add := func(n int, caption, sentence string) {
		boxes = append(boxes, Box{raw[:n], caption, sentence})
		raw = raw[n:]
	}
	if n := m.Preambles; n > 0 {
		boxes = append(boxes, Box{frame.AppendPreambles(nil, min(n, 5)), "preambles", preambles(n)})
	}
	d := frame.Delimiter(raw[0])
	add(1, "delimiter", delimiter(d))
	if d.Long() {
		add(5, "address", address(f))
	} else {
		add(1, "address", address(f))
	}
	if n := d.Expansion(); n > 0 {
		add(n, "expansion", "a device that does not know all of these bytes stays silent")
	}
	add(1, "command", command(m))
	add(1, "byte count", byteCount(raw[0]))
	if f.Kind.FromSlave() {
		add(1, "response", response(m))
		add(1, "status", status(f.Status.Device))
	}
	boxes = append(boxes, data(m, raw[:len(raw)-1])...)
	raw = raw[len(raw)-1:]
	add(1, "check byte", "the exclusive or of all bytes from the delimiter on; it is right")
	return boxes
}

func preambles(n int) string {
	if n == 1 {
		return "only one of them; a receiver starts on two"
	}
	return fmt.Sprintf("%d of them let the receiver settle; it starts on two", n)
}

func byteCount(n byte) string {
	if n == 1 {
		return "1 byte stands between this one and the check byte"
	}
	return fmt.Sprintf("%d bytes stand between this one and the check byte", n)
}

func delimiter(d frame.Delimiter) string {
	what := map[frame.Kind]string{
		frame.STX:  "a request of a master (STX)",
		frame.ACK:  "a reply of a device (ACK)",
		frame.BACK: "a burst of a device that was not asked (BACK)",
	}[d.Kind()]
	form := "polling address of one byte"
	if d.Long() {
		form = "unique address of five bytes"
	}
	layer := ""
	if d.Physical() != 0 {
		layer = fmt.Sprintf(", physical layer type %d, which is not FSK", d.Physical())
	}
	return what + " with a " + form + layer
}

func address(f *frame.Frame) string {
	burst := ""
	if f.Burst {
		burst = "; the device is in burst mode"
	}
	whom := fmt.Sprintf("device type %04x, device ID %06x", f.Address.DeviceType(), f.Address.DeviceID())
	if n, ok := f.Address.IsPolling(); ok {
		whom = fmt.Sprintf("polling address %d", n)
	} else if f.Address.IsBroadcast() {
		whom = "all devices"
	}
	return fmt.Sprintf("%s; top bit: %s master%s", whom, masterName(f.Primary), burst)
}

func command(m *exchange.Message) string {
	if extended(&m.Frame) {
		return "the number of the command leads the data"
	}
	return number(m)
}

// extended reports whether the data begin with the command's number.
func extended(f *frame.Frame) bool { return f.Command == frame.ExtendedCommand && len(f.Data) >= 2 }

func number(m *exchange.Message) string {
	if m.Definition == nil {
		return fmt.Sprintf("number %d, of which nothing is known here", m.Frame.Number())
	}
	said := fmt.Sprintf("number %d, %s", m.Frame.Number(), m.Definition.Name)
	if assumed(m) {
		said += fmt.Sprintf(", read as in revision %d, which is assumed: the device has not told its own", m.Reading.Revision)
	}
	return said
}

func response(m *exchange.Message) string {
	if errs, ok := m.Frame.Status.Response.Errors(); ok {
		return "the device " + heardErrors(errs)
	}
	code, _ := m.Frame.Status.Response.Code()
	return fmt.Sprintf("code %d, %s", code, m.Definition.ResponseText(code))
}

func status(s frame.DeviceStatus) string {
	if s == 0 {
		return "nothing to report"
	}
	return strings.Join(s.Names(), ", ")
}

// data cuts the data field into the boxes of its values; bytes is the field.
func data(m *exchange.Message, bytes []byte) (boxes []Box) {
	if extended(&m.Frame) {
		boxes = append(boxes, Box{bytes[:2], "extended command", number(m)})
		bytes = bytes[2:]
	}
	at := 0
	values := m.Reading.Values
	for i := range values {
		v := &values[i]
		if len(v.Raw) == 0 { // a count says that there are none
			continue
		}
		if v.At > at { // the code of the unit of what follows
			boxes = append(boxes, Box{bytes[at:v.At], "unit", fmt.Sprintf("of %s: %s", v.Field.Name, v.UnitSymbol())})
		}
		if n := len(boxes); v.At < at { // bits of the same byte
			boxes[n-1].Caption += ", " + v.Field.Name
			boxes[n-1].Sentence += "; " + valueText(v)
			continue
		}
		boxes = append(boxes, Box{v.Raw, caption(v), valueText(v)})
		at = v.At + len(v.Raw)
	}
	if at < len(bytes) {
		boxes = append(boxes, Box{bytes[at:], "data", "not known here what they mean"})
	}
	return boxes
}

func caption(v *payload.Value) string {
	if v.Slot < 0 {
		return v.Field.Name
	}
	return fmt.Sprintf("slot %d %s", v.Slot, v.Field.Name)
}
