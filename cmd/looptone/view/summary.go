package view

import (
	"fmt"
	"strings"
	"time"

	"looptone/frame"
	"looptone/frame/exchange"
)

// Summary says in paragraphs what was counted.
func Summary(s *exchange.Statistics) string { return SummaryOf(s, nil) }

// SummaryOf is the summary of several inputs, with the name of the one that each
// stream is of; nil for one input.
func SummaryOf(s *exchange.Statistics, inputs []string) string {
	var b strings.Builder
	devices, others := s.Devices()
	summaryWhole(&b, s)
	for i := range devices {
		summaryDevice(&b, &devices[i], inputs)
	}
	if others.Frames() > 0 {
		fmt.Fprintf(&b, "\nbeyond the first %d devices, all together\n", len(devices))
		summaryCounts(&b, "  ", &others.Counts)
	}
	summaryCommands(&b, s.Commands())
	summaryWrites(&b, s.Writes(), inputs)
	return b.String()
}

// summaryWhole says what holds for all devices together.
func summaryWhole(b *strings.Builder, s *exchange.Statistics) {
	fmt.Fprintf(b, "%s on the line%s\n", many(s.Characters, "character", "characters"), utilisation(s))
	fmt.Fprintf(b, "%s: %s of the primary master, %s of the secondary\n", many(s.Requests, "request", "requests"), fmt.Sprint(s.Primary), fmt.Sprint(s.Secondary))
	summaryCounts(b, "", &s.Counts)
	summaryTimes(b, "", s.Responses())
	if s.Echoes > 0 {
		fmt.Fprintf(b, "%s again on another stream\n", many(s.Echoes, "frame was heard", "frames were heard"))
	}
	if s.Rivals > 0 {
		fmt.Fprintf(b, "%s that two devices claim\n", many(s.Rivals, "polling address", "polling addresses"))
	}
	summaryErrors(b, &s.Errors)
}

func utilisation(s *exchange.Statistics) string {
	part, ok := s.Utilisation()
	if !ok {
		return ""
	}
	return fmt.Sprintf(", in use %.1f %% of %v", part*100, s.Watched().Round(time.Millisecond))
}

// many is a number of things.
func many(n int64, one, several string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, several)
}

// summaryCounts says what came of requests; what is 0 is left out.
func summaryCounts(b *strings.Builder, margin string, c *exchange.Counts) {
	rest := tally([]counted{
		{c.Unanswered, "unanswered"}, {c.Waiting(), "whose reply may not be in the capture"}, {c.Retries, "asked again"},
		{c.Unasked, "replied unasked"}, {c.Refused, "refused"}, {c.Busy, "busy"},
		{c.Misheard, "heard with errors by the device"}, {c.Bursts, "in bursts"},
	})
	if rest != "" {
		rest = ", " + rest
	}
	fmt.Fprintf(b, "%s%d answered%s\n", margin, c.Answered, rest)
}

func summaryTimes(b *strings.Builder, margin string, q exchange.Quantiles) {
	if q.Count == 0 {
		return
	}
	ms := func(t time.Duration) int64 { return t.Round(time.Millisecond).Milliseconds() }
	fmt.Fprintf(b, "%sresponse times %d to %d ms, median %d, 95 %% within %d, 99 %% within %d",
		margin, ms(q.Min), ms(q.Max), ms(q.Median), ms(q.Most95), ms(q.Most99))
	if q.Uncertainty > time.Millisecond {
		fmt.Fprintf(b, ", each ± %d at most", ms(q.Uncertainty))
	}
	b.WriteString("\n")
}

// summaryErrors says what was damaged: by kind, by talker, by place.
func summaryErrors(b *strings.Builder, e *exchange.Errors) {
	kinds := tally([]counted{
		{e.CheckByte, "check byte"}, {e.Parity, "parity"}, {e.Framing, "framing"}, {e.Gap, "gap"}, {e.Cut, "cut short"},
		{e.ByteCount, "no room for the status bytes"},
	})
	if kinds != "" {
		fmt.Fprintf(b, "damaged: %s\n", kinds)
	}
	talkers := tally([]counted{
		{e.ByTalker[frame.STX], "in requests"}, {e.ByTalker[frame.ACK], "in replies"}, {e.ByTalker[frame.BACK], "in bursts"},
		{e.ByTalker[0], "of nobody knows whom"},
	})
	if talkers != "" {
		fmt.Fprintf(b, "  %s\n", talkers)
	}
	var places []counted
	for field := frame.FieldDelimiter; field <= frame.FieldCheckByte; field++ {
		places = append(places, counted{e.ByField[field], "in the " + field.String()})
	}
	if text := tally(places); text != "" {
		fmt.Fprintf(b, "  %s\n", text)
	}
	if noise := e.Noise + e.UnknownType + e.Strays; noise > 0 {
		fmt.Fprintf(b, "noise: %s, %s; %s\n", many(noise, "time", "times"), many(e.NoiseCharacters, "character", "characters"),
			tally([]counted{{e.UnknownType, "began as a frame does"}, {e.Strays, "stray at the edge of a carrier"}, {e.Noise, "other"}}))
	}
}

// counted is how often something was.
type counted struct {
	n    int64
	what string
}

// tally lists what was at all.
func tally(list []counted) string {
	var said []string
	for _, c := range list {
		if c.n > 0 {
			said = append(said, fmt.Sprint(c.n)+" "+c.what)
		}
	}
	return strings.Join(said, ", ")
}

func summaryDevice(b *strings.Builder, d *exchange.DeviceTally, inputs []string) {
	fmt.Fprintf(b, "\n%s\n", whoIs(d))
	summaryCounts(b, "  ", &d.Counts)
	if n := d.DamagedRequests + d.DamagedReplies; n > 0 {
		fmt.Fprintf(b, "  damaged: %s\n", tally([]counted{{d.DamagedRequests, "to it"}, {d.DamagedReplies, "from it"}}))
	}
	summaryTimes(b, "  ", d.Responses)
	for i := range d.Status {
		summaryStatus(b, &d.Status[i], inputs)
	}
}

// whoIs names a device, or an address of which no device has introduced itself.
func whoIs(d *exchange.DeviceTally) string {
	if d.Revision == 0 {
		return addressText(d.Address)
	}
	name := d.Tag
	if name == "" {
		name = "device"
	}
	if d.Polling >= 0 {
		name += fmt.Sprintf(" at polling address %d", d.Polling)
	}
	return fmt.Sprintf("%s, unique address %v, revision %d", name, d.Address, d.Revision)
}

func summaryStatus(b *strings.Builder, s *exchange.StatusBit, inputs []string) {
	name := strings.Join(s.Bit.Names(), ", ")
	fmt.Fprintf(b, "  %s: %s", name, many(s.Frames, "reply", "replies"))
	fmt.Fprintf(b, ", from %s to %s", when(s.First, inputs), when(s.Last, inputs))
	if s.Came > 1 {
		fmt.Fprintf(b, ", came %d times", s.Came)
	}
	if s.Set {
		b.WriteString(", still set at the end")
	}
	b.WriteString("\n")
}

// when is the moment of a message: by the wall clock, or else behind the start of
// its input, as far as that is known.
func when(w exchange.When, inputs []string) string {
	if at, known := w.Span.Clock(); known {
		return at.Round(time.Millisecond).Format("2006-01-02 15:04:05.000")
	}
	if !w.Span.Known {
		return fmt.Sprintf("message %d", w.Number)
	}
	at := string(appendSeconds(nil, w.Span.Start)) + " s"
	if w.Stream < len(inputs) {
		at += " of " + inputs[w.Stream]
	}
	return at
}

func summaryCommands(b *strings.Builder, commands []exchange.CommandTally) {
	if len(commands) == 0 {
		return
	}
	b.WriteString("\ncommands\n")
	for i := range commands {
		c := &commands[i]
		name := "nothing is known of it"
		if c.Definition != nil {
			name = c.Definition.Name
		}
		fmt.Fprintf(b, "%5d  %s: %s, ", c.Command, name, many(c.Requests, "request", "requests"))
		summaryCounts(b, "", &c.Counts)
	}
}

func summaryWrites(b *strings.Builder, l *exchange.WriteLog, inputs []string) {
	if l.Count == 0 {
		return
	}
	b.WriteString("\nwrites\n")
	first, last := l.Kept()
	for i := range first {
		summaryWrite(b, &first[i], inputs)
	}
	if left := l.Count - int64(len(first)+len(last)); left > 0 {
		fmt.Fprintf(b, "  … %d more\n", left)
	}
	for i := range last {
		summaryWrite(b, &last[i], inputs)
	}
}

func summaryWrite(b *strings.Builder, w *exchange.Write, inputs []string) {
	whom := w.Device
	if whom == "" {
		whom = addressText(w.Address)
	}
	name := fmt.Sprintf("command %d, which may write", w.Command)
	if w.Definition != nil {
		name = w.Definition.Name
	}
	fmt.Fprintf(b, "  %s: %s → %s  %s", when(w.When, inputs), masterName(w.Primary), whom, name)
	if len(w.Data) > 0 {
		fmt.Fprintf(b, "  data % x", w.Data)
	}
	switch w.Outcome {
	case exchange.WriteUnanswered:
		b.WriteString("  no answer, it may have been done all the same")
	case exchange.WriteAnswered:
		if code, ok := w.Response.Code(); ok {
			b.WriteString("  " + w.Definition.ResponseText(code))
		} else {
			b.WriteString("  heard with errors")
		}
	}
	b.WriteString("\n")
}

// addressText is an address in words.
func addressText(a frame.Address) string {
	if n, ok := a.IsPolling(); ok {
		return fmt.Sprintf("polling address %d", n)
	}
	if a.IsBroadcast() {
		return "all devices"
	}
	return "unique address " + a.String()
}
