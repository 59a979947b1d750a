package view

import (
	"strings"

	"looptone/frame"
	"looptone/frame/exchange"
)

// A SummaryPart is a heading and the sentences under it.
type SummaryPart struct {
	Heading   string
	Sentences []string
}

// SummaryParts says what [SummaryOf] says, taken apart: the whole, each device, the
// commands, the writes. Parts of which there is nothing to say have no sentences.
func SummaryParts(s *exchange.Statistics, inputs []string) (whole SummaryPart, devices []SummaryPart, commands, writes SummaryPart) {
	var b strings.Builder
	tallies, _ := s.Devices()
	for i := range tallies {
		b.Reset()
		summaryDevice(&b, &tallies[i], inputs)
		devices = append(devices, summaryPart(b.String()))
	}
	b.Reset()
	summaryCommands(&b, s.Commands())
	commands = summaryPart(b.String())
	b.Reset()
	summaryWrites(&b, s.Writes(), inputs)
	writes = summaryPart(b.String())
	b.Reset()
	summaryWhole(&b, s)
	whole = summaryPart("whole\n" + b.String())
	return whole, devices, commands, writes
}

// summaryPart takes a block of a summary apart: its first line is the heading, and a line
// that is indented more than the one before goes on with it.
func summaryPart(block string) (p SummaryPart) {
	margin := 0
	for i, line := range strings.Split(strings.Trim(block, "\n"), "\n") {
		text := strings.TrimSpace(line)
		indent := len(line) - len(strings.TrimLeft(line, " "))
		switch {
		case i == 0:
			p.Heading = text
		case len(p.Sentences) > 0 && indent > margin:
			p.Sentences[len(p.Sentences)-1] += "; " + text
		case text != "":
			p.Sentences = append(p.Sentences, text)
			margin = indent
		}
	}
	return p
}

// DeviceText names a device that was counted, or an address of which no device has
// introduced itself.
func DeviceText(d *exchange.DeviceTally) string { return whoIs(d) }

// AddressText is an address in words.
func AddressText(a frame.Address) string { return addressText(a) }
