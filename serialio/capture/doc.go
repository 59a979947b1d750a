// Package capture turns what people have recorded into records of characters,
// marks and places for one decoder, whatever the format.
//
// Raw bytes are what a port sent, nothing else.
//
// Hex text is pairs of hex digits in any case, with or without 0x, apart by
// blanks, commas or semicolons, or run together. A # begins a comment. Every
// line is a new beginning: its first character carries [frame.Line].
//
// A hex dump is hex text whose lines begin with an offset. Dumps of general
// tools are read as they are:
//
//	00000000: ffff ff02 8000 0082  ........              xxd
//	00000000  ff ff ff 02 80 00 00 82  |........|        hexdump -C
//	0000000 ff ff ff 02 80 00 00 82                      od -t x1
//	000000 ff ff ff 02 80 00 00 82  >........<           od -A x -t x1z
//
// The first line with something in it decides whether there are offsets: what
// stands before a colon there; or 6 to 16 digits before single bytes, if they
// are all 0 or the next line's offset continues them. Their base is the one
// that fits the characters between them: hex, or decimal before a colon; octal,
// decimal or hex where they have seven digits without a colon.
//
// Lines of a dump continue each other without a mark. An offset of 0 is the
// beginning of another dump, before which there is a [frame.Cut]; any other
// that does not continue is an error. A line that begins with * repeats the
// line before it up to the next offset, unless the base is still open and the
// bases disagree; such characters have the place of the *.
//
// An ASCII column is what stands at a line's end behind a | or >, or behind two
// blanks if it shows the characters of its line. Without an offset, what can be
// read as hex is never an ASCII column.
//
// # Capture file
//
// The project's own format is text that keeps what other formats lose: when
// something was heard, on which of several streams, and what was wrong with a
// character. It can tell damage to itself from damage on the wire.
//
//	looptone capture 1 *6791
//	! started 2031-03-01T03:10:07.12+01:00 *dcc7
//	! stream 0 "between host and modem" times=end late=0.016 parity=visible *8c42
//	# any remark *d160
//	12.345678 0 ff ff ff 02 80p 00 00 82 *c0d0
//	12.4 0 carrier off *04a1
//	12.412 0 lost 17 *6733
//	! end *fa36
//
// A recording begins with its first line, the wall clock, if it is known, and the
// streams, each once. Behind those come the times. A time is seconds since the
// start, up to 999999999, a stream a number from 0 to 255. On one stream, no time
// lies before the one in front of it. With times=start the time is that of the
// first character's start bit, with times=end that of the last one's stop bit; the
// others follow without a gap, at 1200 bit/s, so a line ends where they do not; with
// times=none the times tell nothing but the order. A time can lie behind what it is of
// by as many seconds as late= says. Without a line that describes it, a stream has no
// times. Behind a character stand its marks: p for [frame.Parity], f for
// [frame.Framing], g for a [frame.Gap] before it. There is a [frame.Cut] where the
// carrier went on or off, where characters were lost while the line was recorded, and,
// as long as the file does not say that the carrier is on, where nothing was heard for
// five characters and what the times may be late by.
//
// Every line ends with the CRC of what stands in front of the blank before it:
// CRC-16/X-25 of ISO/IEC 13239 (906e for the digits 1 to 9), whose register begins
// not with ffff but with the CRC that the line in front ends with; ffff it is on
// the first line. So a line that is damaged, lost, doubled or misplaced is noticed,
// and so is a wrong CRC or none. Such a line is not read. The next one may continue
// it, if it has a CRC, or the last good line. What cannot be read is reported in
// [Record.Damage], with a Cut in every stream, and the reading goes on.
//
// The last line of a complete recording is "! end". Another recording can be
// appended, on a new line: it begins as a file does, with the CRC either begun anew
// or continued. Its times are moved behind those in front of it, by the wall clock
// where both tell it. All of it spans at most 100 years.
//
// A [Writer] writes each line at once, so whoever is killed loses at most the line that
// he was writing; a [Recorder] does so in the background, and loses characters, which
// it counts, rather than hold up who brings them.
//
// # CSV
//
// A CSV holds decoded characters, one or more a row, or the levels of wires. Fields
// are apart by commas, semicolons or tabs and may stand in quotation marks, on one line;
// a line that begins with # means nothing. A header, found in the first 64 KiB below
// whatever stands in front of it, tells by its words what a column is:
//
//	time, timestamp, seconds, start    when; a unit from s to ps among the words or in a row below
//	hex, dec                           characters in that base
//	data, value, byte, character       characters in a base that the rows show
//	tx, rx                             the same, of one direction each
//	stream, direction, channel         one stream a value
//	error, parity, framing             what is wrong with the character: words, or yes in a column of its own
//	marks                              words as well, and nothing but them stands before a character
//	level, state                       a level: 0 or 1, low or high, x for unknown; empty for no change
//
// Several columns of characters are a stream each, if their headers tell different
// directions (tx and rx, sent and received, out and in, host and device, request and
// reply) or if they were chosen. Without characters, every column that holds nothing but
// levels is a wire. A column can also be chosen by its name or number. Times are numbers with either decimal sign, with
// or without an exponent, or dates and times of RFC 3339 (UTC where no zone stands), or
// times of a day, counted from the midnight before the first one. The time of a row is
// that of its first character's start bit; it may be wrong by its last digit, by as much
// as a pause has to be longer to be a [frame.Gap] or a [frame.Cut].
//
// Levels are read as a UART does that is set to 1200 bit/s, 8 bits, odd parity: pulses
// of less than an eighth of a bit are none, each bit is looked at in its middle. Parity
// and stop bits are seen. A break is a 00 with [frame.Framing], and a character during
// which a level was unknown has Framing too.
//
// # Value change dump
//
// A VCD after IEEE 1364 holds levels. Every variable of one bit is a wire, or those that
// are chosen by name or path, which can be single bits of others: top.bus[3]. No start
// bit begins where the level was x or z before.
//
// # Log
//
// In a log, a regular expression in the syntax of package regexp finds what was heard:
// its group hex holds the characters, time and direction when and which way. Every match
// is a record, and a new beginning as a line of hex text is. What does not match is
// passed over and counted. Nobody knows whether a log tells when a message began or when it
// ended, so the time is taken for that of its beginning, late by up to its length.
//
// # Packets
//
// Files of packets are pcap and pcapng, in either byte order. The link type says what is
// in a packet:
//
//	147 to 162  a stretch of characters, mostly a frame, with or without its preamble
//	250         an event of a serial line: characters, wrong parity or stop bits, a
//	            carrier that went on or off (the line DCD), characters that were lost
//	IP          what UDP and TCP carry; a datagram is a stretch, segments of TCP are put
//	            in order, and what never comes is lost
//
// Each interface and direction is a stream, and so is each direction of a conversation
// over IP. The time of a packet is that of its last character's stop bit, and time 0 is
// that of the first packet. What [NewExport] writes as pcapng says more: the description
// of an interface holds the words of a capture file for its stream, "stream 0 times=end
// parity=visible"; a comment on a packet says which characters have marks, "marks 3p 7fg",
// counted from 1; the start time of an interface's statistics is time 0.
//
// # JSON lines
//
// The log of a simulated line is JSON lines too: a head with "line" and
// "ticks_per_second", then an object a carrier with its "characters", each as [byte, start,
// end] in ticks and, where it was sent wrongly, p and f for [frame.Parity] and
// [frame.Framing]; and "end". All talkers are one stream, in the order of the starts, as
// all of it was on one pair of wires. A receiver makes out none of characters that
// overlap: the first one is there, with Parity. Times are exact, there is a Cut where
// nothing was said for five characters, and what would have been said behind the end is
// left out.
//
// The JSON lines that decoding writes are read back to characters: frames with their
// preambles, damage and noise. Each begins with a [frame.Line], or where it does not
// continue the one in front with a [frame.Cut]; the mark that made a frame a damaged one
// stands again. Echoes are not in such lines.
//
// # Several captures together
//
// Captures that were made at the same time, one of each direction of a line for instance,
// can be read as one with [Together], if they have times.
//
// # Compressed files
//
// Any of these may be compressed with gzip or zstd. Of what comes out no more is read than
// [Options] say, and how much memory that takes does not depend on how much it is.
package capture
