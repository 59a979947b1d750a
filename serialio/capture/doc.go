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
package capture
