// Package loop is the electricity of a line: will it work with this supply, this
// resistor, this cable?
//
//	supply ── resistor ── barrier ── instruments ──┬── cable ──┬── cable ──┬
//	  │                                          device     device      device
//	  └────────────────────────────────────────────┴───────────┴───────────┴
//
// A cable is two cores, so a segment has twice the resistance of one of them. Behind a
// segment other segments may go on, and devices hang; a device may also hang right
// behind what is in series. A device draws its current whatever its voltage, as long as
// that is at least its lift-off voltage; below it the device is dark and draws nothing.
//
// For direct currents that is [Loop.Solve], where every device draws what it wants, and
// [Loop.Settle], which finds out who stays lit. For the tones it is [Loop.Tones]: a
// device modulates its current, a host drives a voltage through its own output
// impedance, and the supply is a short circuit but for its impedance. [Loop.Reckon] does
// all of it and holds it against the limits.
//
// Voltages are in volts; those of tones, and tone currents, peak to peak. Currents are
// in milliamperes, resistances in ohm, capacitances in nanofarads, lengths in metres.
package loop
