// Package frame builds and parses the frames of the HART token-passing data
// link and finds them in a stream of characters. Bytes in, values out: it does
// no I/O and reads no clock.
//
// A frame on the wire, left to right:
//
//	FF FF FF FF FF │ 82 │ B8 01 00 00 65 │ … │ 03 │ 1A │ 00 00 │ … │ 5A
//	preambles      │ │    address          │    │    │    │       │   └ check byte
//	               │ │    1 or 5 bytes     │    │    │    │       └ data, 0 to 255 bytes
//	               │ │                     │    │    │    └ status, 2 bytes, replies and bursts only
//	               │ │                     │    │    └ byte count: status and data
//	               │ │                     │    └ command
//	               │ │                     └ expansion, 0 to 3 bytes
//	               │ └ delimiter
//	               └ 5 to 20 of them; a receiver starts on two
//
// The delimiter:
//
//	bit 7     6 5          4 3             2 1 0
//	long      expansion    physical        1 burst (BACK), 2 request (STX),
//	address   bytes        layer, 0 = FSK  6 reply (ACK)
//
// The first address byte:
//
//	bit 7             6                 5 … 0
//	primary master    burst mode        polling address (short form), or the
//	                                    top 6 of the 38 bits of a unique address
//
// The check byte is the exclusive or of all bytes from the delimiter to the
// last data byte.
//
// Source: Texas Instruments application note SLAAEH0 (Nov 2023), section 1.5.3;
// Buerkert, Type 8605 description of communication, pp.13-14.
package frame
