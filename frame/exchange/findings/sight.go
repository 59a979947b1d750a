package findings

import "time"

// Sight is what a hook-up shows of the hosts. The zero Sight knows the least; that
// times are known at all is told by the messages.
//
// Of a host on a pty or behind TCP, it is Sight{AtOnce: true, Direct: true, Watched:
// true}; of one at a serial port that is wired to its UART, Sight{Late: lateness of
// the port, Direct: true, Watched: true}; with modems between them, the same without
// Direct. Nothing is direct where faults of a simulated line change what the host
// sends.
type Sight struct {
	// Late is by how much the times of requests may lie behind what they are of,
	// where messages do not tell more.
	Late time.Duration

	// Rounded is by how much a time between two moments may be wrong either way.
	Rounded time.Duration

	// AtOnce says that a host may hand over a message at once, as through a pty or
	// TCP. Then a request began at some moment between the times of its first and
	// its last character, and nobody can see gaps inside.
	AtOnce bool

	// Came is, with AtOnce, when the first characters of the message had come, which
	// began then at the latest; 0 where that is not known.
	Came time.Duration

	// Single says that every character has a time of its own, so that a gap inside
	// a message is seen, and told in the message's Span.
	Single bool

	// Parity says that wrong parity and stop bits are seen.
	Parity bool

	// Direct says that the characters of a host are heard as it sent them, from its
	// UART, a pty or TCP. Behind a modem preambles may be missing, so that a request
	// began earlier than it was heard, and what is damaged may be so through the line.
	Direct bool

	// Talker is the name of who sends, where the hook-up tells hosts apart by more
	// than their master bit.
	Talker string

	// Several says that several talked at once: what was heard may be nobody's, and its
	// master bit too.
	Several bool

	// Carriers says that it is seen when somebody talks while somebody else does, and
	// told by [Judge.TalksOver].
	Carriers bool

	// Watched says that somebody listened from time 0 on.
	Watched bool

	// Streams is the number of streams; those who talk at once are told apart only
	// where each is heard on a stream of its own.
	Streams int
}
