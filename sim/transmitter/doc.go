// Package transmitter is the part of a smart transmitter that deals in numbers:
// what stands between the process and the loop current.
//
// A process drives the first stage of a path. Every stage takes the output of
// one before it, mostly its neighbour:
//
//	process ─ sensor ─ damping ─ range ─ transfer ─┬─ output
//	   └─ in the sensor's unit ─┘    └─ percent ─┘ │     └ mA
//	                                               └─ user_unit
//
// A transmitter moves on a grid of its own and knows no other time: it is told
// how far line time has come, and runs the grid points up to there. So its
// numbers are the same however that time is divided.
//
// Data link, commands and memory are another package's business, and so is the
// rule that decides whether the loop current is parked.
package transmitter
