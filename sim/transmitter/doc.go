// Package transmitter is the part of a smart transmitter that deals in numbers:
// what stands between the process and the loop current.
//
// A process acts on the first stage of a path. On its trunk every stage takes the
// output of the one before it; user unit, totaliser and controller branch off
// where they stand, and what comes behind them takes what they took. This is the
// usual order; a list of stages gives another one.
//
//	process ─ sensor ─ characterisation ─ damping ─ trim ─ range ─┐
//	   └──────────────── in the sensor's unit ──────────────┘     │
//	┌─────────────────────────────────────────────────────────────┘
//	└─ transfer ─ table ─┬────────────┬─────────────┬─ output ─ (loop current)
//	   └─── percent ───┘ └─ user unit └─ controller ┘  └───── mA ─────┘
//	                         └─ totaliser
//
// The output follows the trunk, which is the process variable in percent, or what
// the controller puts out. Behind it stands the D/A converter, so that what the
// transmitter believes to set and what the loop carries can differ.
//
// The primary variable is what the user unit gives. Without one it is the value
// that goes into the range, in the range's unit; what stands behind the range
// then acts on the current alone.
//
// A transmitter moves on a grid of its own and knows no other time: it is told
// how far line time has come, and runs the grid points up to there. So its
// numbers are the same however that time is divided. Where a current opens the
// valve of a process, those that hang together move together.
//
// Data link, commands and memory are another package's business, and so is the
// rule that decides whether the loop current is parked.
package transmitter
