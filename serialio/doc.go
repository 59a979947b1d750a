// Package serialio reaches the world outside: serial ports of this machine and of
// device servers, kernel ptys and raw TCP, each a two-way line of characters. It
// knows characters and times, not frames.
//
// A [Port] comes from [Open] (a serial port or a pty by its name), [NewPTY] (a
// pty for another program to open), [Dial], [DialRFC2217] or a [Listener]; [Ports]
// lists the serial ports that there are. A UART, also that of a device server, clocks
// characters out by itself and gets a message in one write. A pty and TCP have
// no character timing: there the port writes each character at the moment when
// its stop bit would end.
//
// Opening a serial port raises RTS and DTR, so a modem keyed by one of them can
// put a carrier on a live loop. How the modem behind a port is keyed from then on,
// and which of its lines tells of a carrier, stands in [Modem]; with [RTSKeys]
// or [RTSOff], Open waits until that carrier is gone before anybody listens.
//
// A port has one user at a time. On a UART of Linux, characters with a wrong
// parity or stop bit are marked; elsewhere nobody sees that: see
// [Port.SeesParity].
//
// Where a modem brings back what is sent, [Modem] says so: then it is compared with
// what was sent, and arrives as [frame.EchoWhole] or [frame.EchoDamaged].
package serialio
