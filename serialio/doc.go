// Package serialio reaches the world outside: serial ports, kernel ptys and raw
// TCP, each a two-way line of characters. It knows characters and times, not
// frames.
//
// A [Port] comes from [Open] (a serial port or a pty by its name), [NewPTY] (a
// pty for another program to open), [Dial] or a [Listener]. A UART clocks
// characters out by itself and gets a message in one write. A pty and TCP have
// no character timing: there the port writes each character at the moment when
// its stop bit would end.
//
// Opening a serial port raises RTS and DTR, so a modem keyed by one of them can
// put a carrier on a live loop.
package serialio
